// Completes the demo commission with nothing but the types of the contract.
import type { paths } from "./schema.js";

declare const process: { argv: string[]; exit(code: number): never };

type Post = paths["/v1/commissions"]["post"];
type Given = Post["requestBody"]["content"]["application/json"];
type Plan = Post["responses"][200]["content"]["application/json"];
type Problem = Post["responses"][422]["content"]["application/problem+json"];

const [, , server, commission] = process.argv;
const given: Given = JSON.parse(commission!);
const response = await fetch(`${server}/v1/commissions?working=false`, {
  method: "POST",
  headers: { "Content-Type": "application/json" },
  body: JSON.stringify(given),
});
if (!response.ok) {
  const problem: Problem = await response.json();
  console.error(problem.status, problem.detail, problem.errors);
  process.exit(1);
}
const plan: Plan = await response.json();
if (plan.pieces.length !== given.pieces.length) {
  console.error(`${plan.pieces.length} pieces planned of ${given.pieces.length}`);
  process.exit(1);
}
for (const piece of plan.pieces) {
  console.log(`${piece.name}: ${piece.verdict}, melt ${piece.melt.melt_mass_g} g`);
}
