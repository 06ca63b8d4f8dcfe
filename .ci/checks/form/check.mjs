// Drives the order form across origins: the page comes from one port, the
// server answers on another. Usage: check.mjs PROGRAM PAGE
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { createServer } from "node:http";
import { chromium } from "playwright-core";

const [program, page] = process.argv.slice(2);
const began = Date.now();
const site = createServer((_, response) => response.setHeader("Content-Type", "text/html").end(readFileSync(page)));
await new Promise(ready => site.listen(0, "127.0.0.1", ready));
const origin = `http://127.0.0.1:${site.address().port}`;

// start runs the program and returns its address.
function start(...flags) {
  const server = spawn(program, ["serve", "--addr", "127.0.0.1:0", ...flags], { stdio: ["ignore", "ignore", "pipe"] });
  return new Promise((found, lost) => {
    server.on("exit", () => lost(new Error("the server stopped")));
    server.stderr.on("data", text => {
      const url = /msg=listening url=(\S+)/.exec(text)?.[1];
      if (url) found({ url, stop: () => { server.removeAllListeners("exit"); server.kill(); } });
    });
  });
}

const open = await start("--origins", origin);
const shut = await start();
const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--no-sandbox"] });
try {
  const tab = await browser.newPage();
  const complaints = [];
  tab.on("pageerror", e => complaints.push(e.message));
  const answered = async kind => {
    await tab.click("button");
    await tab.waitForSelector(`#answer.${kind}`, { timeout: 15000 });
    return tab.innerText("#answer");
  };
  const post = async (calculation, input) =>
    (await fetch(`${open.url}/v1/${calculation}`, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(input) })).json();

  await tab.goto(`${origin}/?server=${open.url}`);
  const text = await answered("given");
  const melt = await post("melts", { alloy: "silver-925", shape: "half_round", inside_diameter_mm: 62, thickness_mm: 2.4, width_mm: 6 });
  const quote = await post("quotes", {
    currency: "EUR", metal: "silver", fineness_permil: 925, metal_price_per_gram: 0.95, hourly_rate: 38, mould_min: 40, pour_min: 30,
    cleaning_min: 45, polishing_min: 40, consumables: 6.5, failure_pct: 10, overhead_pct: 20, markup_pct: 25, tax_pct: 21, round_to: 5,
    rounding: "up", deposit_pct: 50, piece: "bangle", piece_g: melt.casting_mass_g, cast_g: melt.casting_mass_g + melt.feed_mass_g,
    gas_g: melt.fuel_g, client_metal_g: 45, client_metal_fineness_permil: 900, client_stones: 0,
  });
  assert.match(quote.total, /^\d+\.\d\d$/);
  assert.ok(text.startsWith(`${quote.total} EUR`), `the page says ${text}, the server ${quote.total}`);
  assert.ok(text.includes(quote.client_text.split("\n")[0]), "the words for the client are on the page");

  await tab.fill("#client_metal_g", "1,5 ozt"); // a unit of the trade, a decimal comma
  const withUnit = await answered("given");
  assert.notEqual(withUnit, text);

  await tab.fill("#thickness_mm", "-2");
  assert.match(await answered("refused"), /thickness mm: give a number/);
  assert.equal(await tab.getAttribute("#thickness_mm", "aria-invalid"), "true");
  await tab.fill("#thickness_mm", "2.4");
  await answered("given");
  assert.equal(await tab.getAttribute("#thickness_mm", "aria-invalid"), null);

  // A server that was not told of this origin is not readable from it.
  await tab.goto(`${origin}/?server=${shut.url}`);
  assert.match(await answered("refused"), /does not answer/);
  assert.deepEqual(complaints, []);
} finally {
  await browser.close();
  open.stop();
  shut.stop();
  site.close();
}
console.log(`the order form asks across origins (${((Date.now() - began) / 1000).toFixed(0)} s)`);
