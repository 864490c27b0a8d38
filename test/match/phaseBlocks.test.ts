import { expect, it } from "vitest";
import { phaseBlocks } from "../../lib/match/phaseBlocks.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { fitSine } from "../../lib/signal/sineFit.ts";

// Near a quarter of the rate a block holds four places of the sine; where the two at the peaks lie on the rails, those at the middle know no amplitude and so no phase.
it("blocks know their phase or say nothing, rails left out (closed form: the sine has one phase)", () => {
  const random = seededRandom(3);
  const cycles = 0.2498016357421875;
  const readings = 65_536;
  const usable = { floor: 0, ceiling: 1023 };
  const codes = Int32Array.from({ length: readings }, (_, n) =>
    Math.max(0, Math.min(1023, Math.round(511.5 + 537 * Math.cos(2 * Math.PI * cycles * n) + 3 * random.normal()))),
  );
  const fit = fitSine(codes, { frequency: cycles, fixed: true, usable })!;
  const blocks = phaseBlocks(codes, fit, usable)!;
  const known = blocks.phase.filter((p) => !Number.isNaN(p));
  expect(known.length).toBeGreaterThan(blocks.count / 2);
  // Some 16 readings of 3 codes on 537: 3/537/√8 = 0.002 rad where half of them are left; six deviations, and five times less well known where just so much is left.
  for (const p of known) expect(Math.abs(p)).toBeLessThan(6 * 5 * 0.002);
});
