// Prints the bench sheet to pixels at 300 to the inch and measures what is
// meant to be at 1:1. Usage: paper.mjs URL COMMISSION.json
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";

const [url, file] = process.argv.slice(2);
const dpi = 300, mm = dpi / 25.4, allowed = 0.1; // mm; a pixel is 0.085 mm
const order = JSON.parse(readFileSync(file));
const post = async (body, accept) => fetch(`${url}/v1/commissions`, { method: "POST", headers: { "Content-Type": "application/json", Accept: accept }, body: JSON.stringify(body) });
const plan = await (await post(order, "application/json")).json();

for (const paper of ["a4", "letter"]) {
  const pdf = await post({ ...order, paper }, "application/pdf");
  assert.equal(pdf.headers.get("content-type"), "application/pdf");
  const folder = mkdtempSync(join(process.cwd(), ".paper-"));
  process.on("exit", () => execFileSync("rm", ["-rf", folder]));
  writeFileSync(join(folder, "sheet.pdf"), Buffer.from(await pdf.arrayBuffer()));
  execFileSync("pdftoppm", ["-r", dpi, "-gray", join(folder, "sheet.pdf"), join(folder, "p")]);
  const pages = readdirSync(folder).filter(n => n.endsWith(".pgm")).sort().map(n => grey(readFileSync(join(folder, n))));
  const [w, h] = { a4: [210, 297], letter: [215.9, 279.4] }[paper];
  for (const p of pages) {
    assert.ok(Math.abs(p.w / mm - w) < 0.2 && Math.abs(p.h / mm - h) < 0.2, `${paper}: ${(p.w / mm).toFixed(1)} × ${(p.h / mm).toFixed(1)} mm`);
    assert.ok(inked(p) >= 5 * mm, "nothing is printed within 5 mm of the paper's edge");
  }
  const bars = pages.map(bar).filter(Boolean);
  assert.equal(bars.length > 0, true, "there is a bar");
  for (const length of bars) assert.ok(Math.abs(length - 100) <= allowed, `the bar is ${length.toFixed(3)} mm`);
  for (const piece of plan.pieces) {
    if (!piece.inside_diameter_mm) continue; // a drop or bar has no inside
    const { inside_width_mm: up = piece.inside_diameter_mm, inside_height_mm: across = piece.inside_diameter_mm } = piece.mould.finished; // the width is through the gate, on top
    const found = pages.map(p => disc(p, across, up)).sort((a, b) => b.share - a.share)[0];
    assert.ok(found.share > 0.9, `the size disc of ${piece.name} is drawn`);
    for (const [d, want] of [[found.across, across], [found.up, up]]) assert.ok(Math.abs(d - want) <= allowed, `the size disc of ${piece.name} is ${d.toFixed(3)} mm, not ${want}`);
    console.log(`${paper}: size disc of ${piece.name} ${found.across.toFixed(2)} × ${found.up.toFixed(2)} mm of ${across.toFixed(2)} × ${up.toFixed(2)}`);
  }
  console.log(`${paper}: ${pages.length} pages, bars ${bars.map(b => b.toFixed(2)).join(", ")} mm`);
}

function grey(b) {
  const head = /^P5\s+(\d+)\s+(\d+)\s+(\d+)\s/.exec(b.subarray(0, 60).toString("latin1"));
  return { w: +head[1], h: +head[2], px: b.subarray(head[0].length) };
}
function dark(p, x, y) { return p.px[y * p.w + x] < 128; }
function inked(p) {
  let least = Infinity;
  for (let y = 0; y < p.h; y++) for (let x = 0; x < p.w; x++) if (dark(p, x, y)) least = Math.min(least, x, y, p.w - 1 - x, p.h - 1 - y);
  return least;
}
// bar is the length of the striped bar in mm: the distance of the middles of
// its end marks, taken where they stand out above a level line of that length.
function bar(p) {
  const at = (x, y) => dark(p, Math.round(x), Math.round(y));
  const striped = (x, y) => y + mm < p.h && [0, 20, 40].every(k => at(x + (k + 5) * mm, y + mm) && !at(x + (k + 15) * mm, y + mm));
  for (let y = 0; y < p.h; y++) {
    let run = 0;
    for (let x = 0; x <= p.w; x++) {
      if (x < p.w && dark(p, x, y)) { run++; continue; }
      if (run > 98 * mm && run < 102 * mm && striped(x - run, y)) {
        const above = y - Math.round(0.6 * mm);
        let left = x - run, right = x - 1;
        while (dark(p, left, above)) left++;
        while (dark(p, right, above)) right--;
        const [lw, rw] = [left - (x - run), x - 1 - right];
        if (lw > 0 && rw > 0 && lw < mm && rw < mm) return (right + 1 + rw / 2 - (left - lw / 2)) / mm;
      }
      run = 0;
    }
  }
  return 0;
}
// disc finds an ellipse of two diameters: the centre whose line is inked all
// round. It is then measured across and up, from the middle of its line.
function disc(p, across, up) {
  const rx = across / 2 * mm, ry = up / 2 * mm, angles = [...Array(72).keys()].map(i => [Math.cos(i * Math.PI / 36), Math.sin(i * Math.PI / 36)]);
  const share = (cx, cy, slack) => {
    let n = 0;
    for (const [c, s] of angles) {
      for (let k = -slack; k <= slack; k++) {
        const x = Math.round(cx + (rx + k) * c), y = Math.round(cy + (ry + k) * s);
        if (x >= 0 && y >= 0 && x < p.w && y < p.h && dark(p, x, y)) { n++; break; }
      }
    }
    return n / angles.length;
  };
  // a first look: right, below, left and above; most places fail at once
  const near = (cx, cy) => [[rx, 0], [0, ry], [-rx, 0], [0, -ry]].every(([dx, dy]) => {
    for (let k = -3; k <= 3; k++) if (dark(p, Math.round(cx + dx + (dx && k)), Math.round(cy + dy + (dy && k)))) return true;
    return false;
  });
  let best = { share: 0 };
  for (let cy = Math.ceil(ry); cy < p.h - ry; cy += 3) for (let cx = Math.ceil(rx); cx < p.w - rx; cx += 3) {
    if (!near(cx, cy)) continue;
    const s = share(cx, cy, 2);
    if (s > best.share) best = { share: s, cx, cy };
  }
  if (best.share < 0.5) return best;
  for (let dy = -4; dy <= 4; dy++) for (let dx = -4; dx <= 4; dx++) {
    const s = share(best.cx + dx, best.cy + dy, 1);
    if (s >= (best.fine ?? 0)) Object.assign(best, { fine: s, x: best.cx + dx, y: best.cy + dy });
  }
  // the middle of the line along a ray, near the radius
  const radius = (c, s) => {
    let sum = 0, n = 0;
    const r = c ? rx : ry;
    for (let k = -12; k <= 12; k++) {
      const x = Math.round(best.x + (r + k) * c), y = Math.round(best.y + (r + k) * s), ink = 255 - p.px[y * p.w + x];
      sum += ink * (r + k); n += ink;
    }
    return sum / n;
  };
  return { ...best, across: (radius(1, 0) + radius(-1, 0)) / mm, up: (radius(0, 1) + radius(0, -1)) / mm };
}
