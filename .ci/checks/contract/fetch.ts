// The demo commission, a cell's question and a price to the last digit, with
// the types of openapi-typescript and the client that goes with them.
import createClient from "openapi-fetch";
import type { components, paths } from "./schema.js";

declare const process: { argv: string[]; exit(code: number): never };

function expect(found: unknown, wanted: unknown, what: string): void {
  if (found !== wanted) {
    console.error(`${what}: ${JSON.stringify(found)}, not ${JSON.stringify(wanted)}`);
    process.exit(1);
  }
}

const [, , server, commission] = process.argv;
const client = createClient<paths>({ baseUrl: server! });

// Fields with defaults are left out; one metal price has more digits than a
// single-precision number holds.
const quote = await client.POST("/v1/quotes", {
  body: { currency: "EUR", metal_price_per_gram: 1234567.89, hourly_rate: 0, piece_g: 1, fineness_permil: 1000, bench_loss_pct: 0, melt_loss_pct: 0 },
});
expect(quote.data?.total, "1234567.89", "price");

const size = await client.GET("/v1/ring-sizes", { params: { query: { system: "us", size: "7" } } });
expect(size.data?.diameter_mm, 17.32, "US 7");

const refused = await client.POST("/v1/quotes", { body: { currency: "EUR", metal_price_per_gram: -1, hourly_rate: 0, piece_g: 1, fineness_permil: 1000 } });
expect(refused.error?.errors?.[0]?.location, "body.metal_price_per_gram", "refused field");

const given: components["schemas"]["CommissionsInput"] = JSON.parse(commission!);
const plan = await client.POST("/v1/commissions", { params: { query: { working: false } }, body: given });
expect(plan.data?.pieces.length, given.pieces.length, "pieces planned");
for (const piece of plan.data?.pieces ?? []) {
  console.log(`${piece.name}: ${piece.verdict}, melt ${piece.melt.melt_mass_g} g`);
}
