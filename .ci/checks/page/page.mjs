// Works a commission through on the class page by keyboard, in Chromium.
// Usage: page.mjs URL
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { inflateRawSync } from "node:zlib";
import { chromium } from "playwright-core";

const url = process.argv[2].replace(/\/$/, "");
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--no-sandbox"] });
const outside = [], complaints = [];

// open shows a page and listens for what must not happen on it.
async function open(path, size = { width: 1280, height: 900 }) {
  const tab = await (await browser.newContext({ viewport: size })).newPage();
  tab.on("request", r => { if (!/^(blob|data):/.test(r.url()) && !r.url().startsWith(url + "/")) outside.push(r.url()); });
  tab.on("pageerror", e => complaints.push(e.message));
  await tab.addInitScript(() => {
    window.violations = [];
    document.addEventListener("securitypolicyviolation", e => window.violations.push(`${e.violatedDirective} ${e.blockedURI}`));
  });
  await tab.goto(url + path);
  return tab;
}
const state = tab => tab.innerText("#state");
const settled = async tab => {
  await tab.waitForFunction(() => /^(Worked out|To see to)/.test(document.querySelector("#state").textContent), null, { timeout: 30000 });
};
// changed waits until what was just typed has been answered.
const changed = async tab => { await tab.waitForTimeout(600); await settled(tab); };
async function accessible(tab, when) {
  await tab.evaluate(axe);
  const found = await tab.evaluate(() => axe.run().then(r => r.violations.map(v => `${v.id}: ${v.nodes.map(n => n.html).join(" ").slice(0, 300)}`)));
  assert.deepEqual(found, [], `accessibility, ${when}`);
}
const narrow = async (tab, when) => assert.equal(await tab.evaluate(() => document.documentElement.scrollWidth - innerWidth), 0, `the page scrolls sideways ${when}`);
const orderOf = tab => JSON.parse(inflateRawSync(Buffer.from(new URLSearchParams(new URL(tab.url()).hash.slice(1)).get("o"), "base64url")));
const post = async (name, body) => {
  const response = await fetch(`${url}/v1/${name}`, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
  assert.equal(response.status, 200, await response.clone().text());
  return response.json();
};

// block is an STL file of a block, its measures in mm.
function block(x, y, z) {
  const faces = [];
  for (const [u, v, w, size] of [[0, 1, 2, z], [1, 2, 0, x], [2, 0, 1, y]]) for (const far of [0, 1]) {
    const at = (a, b) => { const c = [0, 0, 0], most = [x, y, z]; c[u] = a * most[u]; c[v] = b * most[v]; c[w] = far * size; return c; };
    const four = far ? [at(0, 0), at(1, 0), at(1, 1), at(0, 1)] : [at(0, 0), at(0, 1), at(1, 1), at(1, 0)];
    faces.push([four[0], four[1], four[2]], [four[0], four[2], four[3]]);
  }
  const b = Buffer.alloc(84 + 50 * faces.length);
  b.writeUInt32LE(faces.length, 80);
  faces.forEach((f, i) => f.flat().forEach((c, k) => b.writeFloatLE(c, 84 + 50 * i + 12 + 4 * k)));
  return b;
}

// ---- weight and time

const tab = await open("/");
await settled(tab);
const loaded = await tab.evaluate(() => [performance.getEntriesByType("navigation")[0], ...performance.getEntriesByType("resource")]
  .filter(r => !r.name.includes("/v1/")).map(r => [r.name, r.transferSize]));
const weight = loaded.reduce((sum, [, n]) => sum + n, 0);
const ready = await tab.evaluate(() => performance.getEntriesByType("navigation")[0].domContentLoadedEventEnd);
const answered = await tab.evaluate(() => performance.now());
console.log(`page: ${(weight / 1000).toFixed(1)} kB in ${loaded.length} files; entries ready after ${ready.toFixed(0)} ms, first answers seen within ${answered.toFixed(0)} ms`);
assert.ok(weight > 5000 && weight < 150_000, "page weight");
await accessible(tab, "at first");

// ---- a whole commission by keyboard

// reach presses Tab until the entry or button of that name has the focus.
async function reach(name, within = "body") {
  for (let i = 0; i < 260; i++) {
    await tab.keyboard.press("Tab");
    const here = await tab.evaluate(inside => {
      const a = document.activeElement;
      if (!a.closest(inside)) return "";
      const label = [...(a.labels?.[0]?.childNodes || [])].map(n => n.className === "u" ? "" : n.textContent).join("");
      return (label || a.getAttribute("aria-label") || a.textContent).trim();
    }, within);
    if (here === name) return;
  }
  assert.fail(`Tab never came to ${name} in ${within}`);
}
async function enter(name, text, within) {
  await reach(name, within);
  await tab.keyboard.press("Control+A");
  await tab.keyboard.type(text);
}
async function press(name, within) {
  await reach(name, within);
  await tab.keyboard.press("Enter");
}
await press("Start afresh");
await enter("Name of the piece", "sister's bangle", "#size");
await enter("Round the knuckles", "201", "#size");
await enter("Thickness", "2,6", "#section"); // a decimal comma
await enter("Width", "0.25 in", "#section"); // a unit of the trade
await press("Add a lot of scrap", "#scrap");
await tab.keyboard.type("old forks");
await enter("Mass", "120", "#scrap .row");
await enter("Fineness", "835", "#scrap .row");
await press("Add stones", "#stones");
await tab.keyboard.type("little rubies");
await enter("Material", "Sapphire", "#stones .row");
await enter("How many", "2", "#stones .row");
await enter("Length or diameter", "1.5", "#stones .row");
await press("Origin, condition, price", "#stones .row");
await enter("Under the loupe", "Clean", "#stones .row");
await press("Treatments", "#stones .row");
await reach("None", "#stones .row");
await tab.keyboard.press("Space");
await press("Place stones", "#stones");
await tab.keyboard.type("little");
await enter("How many", "2", '#stones [data-rows="piece.stones"]');
await enter("Sprue diameter", "7", "#pour");
await enter("Vents", "3", "#pour");
await enter("Currency", "EUR", "#price");
await enter("Fine metal", "0.95", "#price");
await enter("An hour of work", "40", "#price");
await changed(tab);
assert.equal(await state(tab), "Worked out.");
await tab.waitForFunction(() => document.querySelector('[data-key="fill.failure"]'), null, { timeout: 30000 });
await tab.waitForTimeout(400);

const order = orderOf(tab);
assert.deepEqual(order, {
  pieces: [{ name: "sister's bangle", kind: "bangle", hand_circumference_mm: 201, thickness_mm: 2.6, width_mm: "0.25 in",
    stones: [{ id: "little rubies", quantity: 2 }], mould: { sprue_diameter_mm: 7, vent_count: 3 } }],
  lots: [{ id: "old forks", mass_g: 120, fineness_permil: 835 }],
  stones: [{ id: "little rubies", gem: "sapphire", quantity: 2, length_mm: 1.5, condition: "clean", treatments: ["none"] }],
  prices: { currency: "EUR", metal_price_per_gram: 0.95, hourly_rate: 40 },
}, "the address holds what was typed");

// ---- every answer is the API's

const draft = await post("drafts", order), piece = draft.pieces[0];
const fill = await post("fills", { ...piece.pour, improvements: false });
const expected = {
  "size.inside": piece.inside_diameter_mm, "size.round": piece.bangle_fit.inside_circumference_mm, "size.hand": piece.bangle_fit.hand_circumference_mm, "size.ease": piece.bangle_fit.ease_mm, "size.blank": piece.bangle_fit.blank_length_mm,
  "mould.inside": piece.mould.mould.inside_diameter_mm, "mould.least": piece.mould.finished_least_mm, "mould.greatest": piece.mould.finished_greatest_mm, "mould.contraction": piece.mould.contraction_pct, "mould.mass": piece.mould.casting_mass_g, finished: piece.finished_g,
  "melt.mass": piece.melt.melt_mass_g, "melt.casting": piece.melt.casting_mass_g, "melt.feed": piece.melt.feed_mass_g, "melt.loss": piece.melt.loss_g, "charge.fineness": piece.charge.fineness_worst_permil,
  "order.melt": draft.metal.melt_mass_g, "order.client": draft.metal.client_metal_g, "order.bought": draft.metal.bought_metal_g,
  "fill.failure": fill.failure_pct, "fill.time": fill.nominal.fill_time_s, "fill.coolest": fill.nominal.coolest_c, "fill.sprue": fill.feeding.sprue_needed_mm, "fill.hold": fill.flask.hold_kg, "fill.gap": fill.flask.spill_gap_mm,
  ...Object.fromEntries(fill.risks.filter(r => r.probability_pct > 0).map(r => ["fill." + r.kind, r.probability_pct])),
  "melt.pour": piece.melt.pour_c, "melt.liquidus": piece.melt.liquidus_c, "melt.heat": piece.melt.heat_kj, ...(piece.melt.time_s ? { "melt.time": piece.melt.time_s / 60 } : {}),
  "price.total": `${draft.price.total} EUR`, "price.deposit": draft.price.deposit, "price.balance": draft.price.balance, "price.tax": draft.price.tax,
};
piece.stones.stones.forEach((s, i) => Object.assign(expected, { [`stone.${i}.press`]: s.seat.press_mm, [`stone.${i}.thick`]: s.seat.thickness_min_mm, [`stone.${i}.peak`]: s.heat.peak_surface_c }, s.grains.count ? { [`stone.${i}.grain`]: s.grains.diameter_mm } : {}));
const figures = () => tab.evaluate(() => Object.fromEntries([...document.querySelectorAll("main .fig")].map(d => [d.dataset.key, [d.querySelector("b").dataset.value, d.querySelector("b").textContent]])));
const shown = await figures();
delete shown.quiz;
assert.deepEqual(Object.keys(shown).sort(), Object.keys(expected).sort(), "the figures on the page");
for (const [key, [value, text]] of Object.entries(shown)) {
  assert.equal(value, String(expected[key]), key);
  if (typeof expected[key] === "number")
    assert.ok(Math.abs(parseFloat(text) - expected[key]) <= 0.00051 * Math.abs(expected[key]) || Math.abs(expected[key]) >= 1000, `${key} reads ${text}`);
}

// ---- a number opens its working and its sources

await tab.focus('[data-key="mould.inside"] summary');
await tab.keyboard.press("Enter");
await tab.waitForSelector('[data-key="mould.inside"] .why li'); // the browser tells of the opening when it comes to it
const why = await tab.innerText('[data-key="mould.inside"] .why');
for (const text of [piece.mould.working[0].expression, piece.mould.sources[0].text]) assert.ok(why.includes(text), `the working says ${text}`);
await tab.waitForFunction(() => [...document.querySelectorAll("figure img")].filter(i => i.complete && i.naturalWidth && i.alt).length === 5, null, { timeout: 30000 });
await accessible(tab, "worked out");

// ---- reload and a shared link bring it back

await tab.reload();
await changed(tab);
await tab.waitForFunction(() => document.querySelector('[data-key="fill.failure"]'), null, { timeout: 30000 });
assert.deepEqual(await figures().then(f => (delete f.quiz, f)), shown, "a reload restores the answers");
assert.equal(await tab.inputValue("#section [data-f='width_mm'] input"), "0.25 in");
const shared = await open("/" + new URL(tab.url()).hash, { width: 360, height: 740 });
await settled(shared);
assert.equal(await shared.inputValue("#size [data-f=name] input"), "sister's bangle");
await narrow(shared, "at 360 px");
await shared.setViewportSize({ width: 320, height: 640 });
await narrow(shared, "at 320 px");
await accessible(shared, "on a phone");

// ---- entries that are refused say so, at their place

const refused = async (selector, text, says) => {
  await tab.fill(`${selector} input`, text);
  await changed(tab);
  assert.ok((await tab.innerText(`${selector} .bad`)).match(says), `${selector} says: ${await tab.innerText(`${selector} .bad`)}`);
  assert.equal(await tab.getAttribute(`${selector} input`, "aria-invalid"), "true");
  const described = (await tab.getAttribute(`${selector} input`, "aria-describedby")).split(" ")[0];
  assert.match(await tab.innerText(`[id="${described}"]`), says);
  assert.match(await state(tab), /^To see to/);
};
const mends = async (selector, text) => {
  await tab.fill(`${selector} input`, text);
  await changed(tab);
  assert.equal(await state(tab), "Worked out.");
  assert.equal(await tab.getAttribute(`${selector} input`, "aria-invalid"), null);
};
await refused("#section [data-f='thickness_mm']", "thick", /give a number/);
await accessible(tab, "with an entry refused");
await mends("#section [data-f='thickness_mm']", "2.6");
await refused("#scrap [data-f=mass_g]", "-5", /give a number/);
await mends("#scrap [data-f=mass_g]", "120");
await refused("#scrap [data-f=mass_g]", "", /./);
await mends("#scrap [data-f=mass_g]", "120");
await refused("#price [data-f='prices.currency']", "euros", /[A-Z]{3}|three|form/);
await mends("#price [data-f='prices.currency']", "EUR");

// a busy server is asked again; a silent one is told of
let turned = 0;
await tab.route("**/v1/drafts", route => turned++ < 1 ? route.fulfill({ status: 503, headers: { "Retry-After": "1" }, contentType: "application/problem+json", body: '{"detail":"busy"}' }) : route.continue());
await tab.fill("#size [data-f=hand_circumference_mm] input", "202");
await tab.waitForFunction(() => /busy/.test(document.querySelector("#state").textContent), null, { timeout: 15000 });
await tab.waitForFunction(() => document.querySelector("#state").textContent === "Worked out.", null, { timeout: 15000 });
await tab.unroute("**/v1/drafts");
await tab.route("**/v1/drafts", route => route.abort());
await tab.fill("#size [data-f=hand_circumference_mm] input", "201");
await tab.waitForFunction(() => /does not answer/.test(document.querySelector("#state").textContent), null, { timeout: 15000 });
await tab.unroute("**/v1/drafts");
await mends("#size [data-f=hand_circumference_mm]", "201");

// ---- the plan and the paper

await tab.focus("#plan");
await tab.keyboard.press("Enter");
await tab.waitForSelector("#planned .verdict", { timeout: 60000 });
const plan = await post("commissions", order);
const told = await tab.innerText("#planned");
for (const text of [plan.summary, plan.price.total, plan.steps.at(-1).do, plan.pieces[0].name]) assert.ok(told.includes(text), `the plan says ${text}`);
await accessible(tab, "planned");
const ways = await post("pour-options", order);
await tab.focus("#options");
await tab.keyboard.press("Enter");
await tab.waitForSelector('[data-slip="options"] table', { timeout: 60000 });
assert.equal(await tab.locator('[data-slip="options"] tbody tr').count(), ways.options.length + 1);
assert.ok((await tab.innerText('[data-slip="options"]')).includes(ways.options[0].summary));
await tab.setInputFiles("#mesh", { name: "block.stl", mimeType: "model/stl", buffer: block(8, 5, 3) });
await tab.waitForFunction(() => { const i = document.querySelector("[data-picture=freezing] img"); return i.complete && i.naturalWidth && i.alt; }, null, { timeout: 60000 });
await tab.setInputFiles("#mesh", { name: "no.stl", mimeType: "model/stl", buffer: Buffer.from("not a solid") });
await tab.waitForFunction(() => document.querySelector("#mesh").closest(".wrong") && !/Following/.test(document.querySelector("#meshbad").textContent), null, { timeout: 30000 });
await accessible(tab, "with ways and a solid");
await tab.focus("#bench");
await tab.keyboard.press("Enter");
await tab.waitForSelector("#benchlink a", { timeout: 60000 });
const [download] = await Promise.all([tab.waitForEvent("download"), tab.keyboard.press("Enter")]);
const paper = readFileSync(await download.path());
const same = await fetch(`${url}/v1/commissions`, { method: "POST", headers: { "Content-Type": "application/json", Accept: "application/pdf" }, body: JSON.stringify(order) });
assert.ok(paper.equals(Buffer.from(await same.arrayBuffer())), "the bench sheet of the page is the API's");
const printed = await tab.pdf({ preferCSSPageSize: true, printBackground: true });
assert.ok(printed.length > 20_000, "the page prints");
console.log(`the page prints to ${(printed.length / 1000).toFixed(0)} kB; the bench sheet has ${(paper.length / 1000).toFixed(0)} kB`);

// ---- no answer that does not belong to the entries as they stand

const old = selector => tab.evaluate(s => document.querySelector(s).classList.contains("old"), selector);
const verdicts = selector => tab.evaluate(s => [...document.querySelectorAll(s + " .verdict")].filter(v => !v.closest(".old")).map(v => v.className.replace("verdict ", "")), selector);
await tab.focus("#improve");
await tab.keyboard.press("Enter");
await tab.waitForSelector('[data-slip="improvements"] .say', { timeout: 60000 });
for (const answer of ["#planned", '[data-slip="options"]', '[data-slip="improvements"]']) assert.equal(await old(answer), false, `${answer} is of these entries`);
await tab.fill("#section [data-f='thickness_mm'] input", "0.8");
for (const answer of ["#planned", '[data-slip="options"]', '[data-slip="improvements"]', '[data-slip="pour"]', '[data-slip="size"]']) assert.equal(await old(answer), true, `${answer} is old at once`);
assert.deepEqual(await verdicts("#pour"), [], "no verdict before the pour is followed again");
assert.equal(await tab.locator("#benchlink a").count(), 0, "an old bench sheet cannot be saved");
assert.match(await tab.innerText("#benchlink"), /changed/);
await tab.emulateMedia({ media: "print" });
assert.equal(await tab.isVisible("#planned"), false, "an old plan is not printed");
await tab.emulateMedia({ media: null });
await changed(tab);
assert.equal(await old("#planned"), true, "the plan stays old");
assert.equal(await old('[data-slip="size"]'), false, "what was asked again is not");
await tab.waitForFunction(() => document.querySelector('[data-key="fill.failure"]'), null, { timeout: 30000 });
assert.notDeepEqual(await verdicts("#pour"), ["go"], "0.8 mm is no go");

// a plan that comes after a change is not shown
let release;
const held = new Promise(done => release = done);
await tab.route("**/v1/commissions*", async route => { await held; await route.continue(); });
await tab.click("#plan");
await mends("#section [data-f='thickness_mm']", "2.6");
release();
await tab.waitForFunction(() => /changed while/.test(document.querySelector("#benchlink").textContent), null, { timeout: 60000 });
assert.equal(await old("#planned"), true, "a plan of earlier entries is not shown as this one's");
await tab.unroute("**/v1/commissions*");

// a refused pour has no verdict, and says why at its entry
await tab.waitForFunction(() => document.querySelector('#pour .slip:not(.old) .verdict'), null, { timeout: 30000 });
await refused("#pour [data-f='mould.pour_c']", "2000", /liquidus/);
assert.deepEqual(await verdicts("#pour"), [], "no verdict on a pour that is refused");
assert.equal(await tab.locator('[data-key="fill.failure"]').count(), 0);
await mends("#pour [data-f='mould.pour_c']", "");
await tab.waitForFunction(() => document.querySelector('[data-key="fill.failure"]'), null, { timeout: 30000 });
await tab.route("**/v1/fills*", route => route.fulfill({ status: 422, contentType: "application/problem+json", body: '{"detail":"no","errors":[{"location":"body.pour_time_s","message":"pour more slowly"}]}' }));
await tab.fill("#pour [data-f='mould.pour_time_s'] input", "1.4");
await tab.waitForFunction(() => /pour more slowly/.test(document.querySelector("#state").textContent), null, { timeout: 30000 });
assert.deepEqual((await verdicts("#pour")).filter(v => v !== "not_yet"), [], "a refusal of fills replaces the verdict");
assert.match(await tab.innerText("#pour [data-f='mould.pour_time_s'] .bad"), /slowly/);
await tab.unroute("**/v1/fills*");
await mends("#pour [data-f='mould.pour_time_s']", "");

// another piece never shows this one's verdict, not even while the server is silent
await tab.waitForFunction(() => document.querySelector('[data-key="fill.failure"]'), null, { timeout: 30000 });
await tab.click("#addpiece");
await changed(tab);
await tab.waitForFunction(() => document.querySelector('[data-key="fill.failure"]'), null, { timeout: 30000 });
for (const path of ["drafts", "fills"]) await tab.route(`**/v1/${path}*`, route => route.abort());
await tab.click(".tabs label:first-child");
assert.deepEqual(await verdicts("#pour"), [], "the verdict of the second piece is gone");
assert.equal(await tab.locator('[data-slip="improvements"] .say').count(), 0, "and what would improve it");
await tab.waitForFunction(() => /does not answer/.test(document.querySelector("#state").textContent), null, { timeout: 15000 });
assert.deepEqual(await verdicts("#pour"), []);
for (const path of ["drafts", "fills"]) await tab.unroute(`**/v1/${path}*`);
await tab.click(".tabs label:nth-child(2)");
await tab.click("#droppiece");
await changed(tab);
assert.equal(await state(tab), "Worked out.");

// ---- practice

await tab.selectOption("#topic", "raise_fineness");
await tab.fill("#seed", "41");
await tab.focus("#guess");
await tab.waitForFunction(() => document.querySelector("#question table"), null, { timeout: 10000 });
await tab.waitForTimeout(500);
const answer = await (await fetch(`${url}/v1/exercises?topic=raise_fineness&seed=41&show=true`)).json();
assert.equal(await tab.innerText("#question .say"), answer.question);
assert.ok(!(await tab.innerText("#practice")).includes(answer.working[0].expression), "the working is hidden");
await tab.fill("#guess", String(answer.answer * 1.5));
await tab.keyboard.press("Enter");
await tab.waitForFunction(() => /Not yet/.test(document.querySelector("#marked").textContent));
assert.ok((await tab.innerText("#marked")).includes(answer.hint));
await tab.fill("#guess", answer.answer.toFixed(2));
await tab.keyboard.press("Enter");
await tab.waitForFunction(() => /Right/.test(document.querySelector("#marked").textContent));
assert.equal(await tab.getAttribute('[data-key="quiz"] b', "data-value"), String(answer.answer));
await accessible(tab, "practising");
await tab.waitForTimeout(400);
await tab.reload();
await changed(tab);
assert.equal(await tab.inputValue("#seed"), "41");
assert.deepEqual(await tab.evaluate(() => window.violations), []);

// ---- the documentation of the API, and a try of it

const docs = await open("/docs");
await docs.waitForSelector(".opblock", { timeout: 30000 });
const listed = await docs.locator(".opblock").count();
const contract = await (await fetch(`${url}/openapi.json`)).json();
const operations = Object.values(contract.paths).reduce((n, p) => n + ["get", "post"].filter(m => p[m]).length, 0);
assert.equal(listed, operations, "every operation is shown");
const op = docs.locator(".opblock", { has: docs.locator('[data-path="/v1/bangle-fits"]') }).first();
await op.locator(".opblock-summary-control").click();
await op.locator(".try-out__btn").click();
await op.locator(".execute").click();
await docs.waitForSelector(".live-responses-table .response-col_status", { timeout: 30000 });
assert.match(await op.locator(".live-responses-table .response-col_status").last().innerText(), /200/);
assert.deepEqual(await docs.evaluate(() => window.violations), []);
console.log(`docs: ${listed} operations shown; one tried`);

assert.deepEqual(outside, [], "a request left the origin");
assert.deepEqual(complaints, [], "errors of scripts");
await browser.close();
