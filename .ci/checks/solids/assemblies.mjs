// Random assemblies of bodies that run into one another, measured by a solid
// modeller as their union and by the program from one file of separate shells.
//
// usage: node assemblies.mjs URL COUNT
import Module from "manifold-3d";

const wasm = await Module();
wasm.setup();
const { Manifold, CrossSection } = wasm;
const [url, count] = [process.argv[2], Number(process.argv[3])];

// Park and Miller's generator, so that a run can be repeated.
let seed = 20260;
const random = () => (seed = (seed * 48271) % 2147483647) / 2147483647;
const within = (low, high) => low + (high - low) * random();

const kinds = [
  () => Manifold.cube([within(2, 8), within(2, 8), within(2, 8)], true),
  () => Manifold.sphere(within(1.5, 4), 64),
  () => Manifold.cylinder(within(3, 10), within(1, 3), within(1, 3), 64, true),
  () => {
    const wire = within(0.8, 1.6);
    return Manifold.revolve(CrossSection.circle(wire, 32).translate([within(4, 8), 0]), 90);
  },
  () => {
    const r = within(1.2, 3), high = within(2, 5);
    return Manifold.cylinder(high, r, r, 48, true).subtract(Manifold.cylinder(high + 1, 0.6 * r, 0.6 * r, 48, true));
  },
];

function stl(bodies) {
  const meshes = bodies.map((b) => b.getMesh());
  const triangles = meshes.reduce((n, m) => n + m.numTri, 0);
  const file = Buffer.alloc(84 + 50 * triangles);
  file.writeUInt32LE(triangles, 80);
  let at = 84;
  for (const m of meshes) {
    for (let t = 0; t < m.numTri; t++, at += 50) {
      for (let k = 0; k < 3; k++) {
        const v = m.triVerts[3 * t + ((k + t) % 3)];
        for (let d = 0; d < 3; d++) file.writeFloatLE(m.vertProperties[v * m.numProp + d], at + 12 + 12 * k + 4 * d);
      }
    }
  }
  return file;
}

let worst = [0, 0];
for (let n = 0; n < count; n++) {
  const bodies = [];
  const parts = 2 + Math.floor(random() * 3);
  while (bodies.length < parts) {
    const next = kinds[Math.floor(random() * kinds.length)]()
      .rotate([within(0, 360), within(0, 360), within(0, 360)])
      .translate([within(-4, 4), within(-4, 4), within(-4, 4)]);
    const own = next.volume();
    // Not one inside another: a file with that is refused.
    if (bodies.some((b) => { const s = b.intersect(next).volume(); return s > 0.98 * Math.min(own, b.volume()); })) continue;
    bodies.push(next);
  }
  const whole = Manifold.union(bodies);
  const want = { volume: whole.volume(), area: whole.surfaceArea(), bodies: whole.decompose().filter((b) => b.volume() > 0).length };
  const reply = await fetch(`${url}/v1/meshes?thickness=false`, { method: "POST", headers: { "Content-Type": "model/stl" }, body: stl(bodies) });
  const got = await reply.json();
  if (reply.status !== 200) throw new Error(`assembly ${n}: ${reply.status} ${JSON.stringify(got)}`);
  const off = [Math.abs(got.volume_mm3 / want.volume - 1), Math.abs(got.area_mm2 / want.area - 1)];
  // The volume by a thousand lines each way; the area to the halved facets along the creases.
  const hollow = want.bodies !== got.bodies && whole.genus() < 0; // a void between bodies counts as one more there
  if (off[0] > 1e-3 || off[1] > 2e-3 || (want.bodies !== got.bodies && !hollow)) {
    throw new Error(`assembly ${n} of ${parts}: ${JSON.stringify(want)} against ${got.volume_mm3} mm3, ${got.area_mm2} mm2, ${got.bodies} bodies`);
  }
  worst = worst.map((w, k) => Math.max(w, off[k]));
}
console.log(`${count} assemblies: volume within ${(100 * worst[0]).toFixed(3)} %, area within ${(100 * worst[1]).toFixed(3)} %`);
