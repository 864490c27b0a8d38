import { expect, it } from "vitest";
import { jumpsTogether } from "../../lib/match/jumpsTogether.ts";
import { seededRandom } from "../../lib/signal/random.ts";
import { fitSine } from "../../lib/signal/sineFit.ts";

// Blocks may place two jumps at one reading, or one before the first: no piece is left between them.
it("jumps found one by one may coincide", () => {
  const random = seededRandom(2);
  const cycles = 0.337022;
  const codes = Int32Array.from({ length: 4096 }, (_, n) => {
    const y = 127.5 + 131 * Math.cos(2 * Math.PI * cycles * n);
    return Math.round(y + 3 * Math.sin((2 * Math.PI * n) / 700) + random.normal());
  });
  const step = { within: 8, step: 0.02, standard: 0.002 };
  const known = [0, 2000, 2000, 2002].map((at) => ({ at, ...step }));
  const candidates = [{ cycles, allowed: 1e-6 }];
  // The record has no jump: a wave of its level comes beside the tone.
  expect(jumpsTogether(codes, fitSine(codes), known, candidates, null) ?? []).toEqual([]);
});
