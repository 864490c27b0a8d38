import { expect, it } from "vitest";
import { percent } from "../../lib/plan/percent.ts";

it.each([
  [0.95, "95 %"],
  [0.99, "99 %"],
  [0.995, "99.5 %"],
  [1 - 0.05 / 4096, "99.9988 %"],
  [1, "100 %"],
])("%f is %s", (share, text) => expect(percent(share)).toBe(text));
