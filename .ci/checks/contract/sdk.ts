// What fetch.ts asks, with the client that @hey-api/openapi-ts generates.
import { client } from "./hey/client.gen";
import { commissions, quotes, ringSizesGet } from "./hey/sdk.gen";
import type { CommissionsInput } from "./hey/types.gen";

declare const process: { argv: string[]; exit(code: number): never };

function expect(found: unknown, wanted: unknown, what: string): void {
  if (found !== wanted) {
    console.error(`${what}: ${JSON.stringify(found)}, not ${JSON.stringify(wanted)}`);
    process.exit(1);
  }
}

async function main(): Promise<void> {
  const [, , server, commission] = process.argv;
  client.setConfig({ baseUrl: server! });

  const quote = await quotes({
    body: { currency: "EUR", metal_price_per_gram: 1234567.89, hourly_rate: 0, piece_g: 1, fineness_permil: 1000, bench_loss_pct: 0, melt_loss_pct: 0 },
  });
  expect(quote.data?.total, "1234567.89", "price");

  const size = await ringSizesGet({ query: { system: "us", size: "7" } });
  expect(size.data?.diameter_mm, 17.32, "US 7");

  const refused = await quotes({ body: { currency: "EUR", metal_price_per_gram: -1, hourly_rate: 0, piece_g: 1, fineness_permil: 1000 } });
  expect(refused.error?.errors?.[0]?.location, "body.metal_price_per_gram", "refused field");

  const given: CommissionsInput = JSON.parse(commission!);
  const plan = await commissions({ query: { working: false }, body: given });
  expect(plan.data?.pieces.length, given.pieces.length, "pieces planned");
  for (const piece of plan.data?.pieces ?? []) {
    console.log(`${piece.name}: ${piece.verdict}, melt ${piece.melt.melt_mass_g} g`);
  }
}

void main();
