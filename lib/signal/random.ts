import { kernels } from "../kernels/kernels.generated.js";

/** A seeded source of random numbers, so that every simulation and bootstrap can be repeated. */
export interface Random {
  /** Uniform in [0, 1). */
  uniform(): number;
  /** Standard normal. */
  normal(): number;
  /** Lets the next kernels that need random numbers draw them from here. */
  takeTurn(): void;
}

/** The kernels hold the state of one generator, the last one that drew; this puts it away. */
let putAway = (): void => {};

/**
 * xoshiro128** with splitmix32 seeding; normal deviates by Marsaglia's polar method.
 * Source: Blackman and Vigna, "Scrambled linear pseudorandom number generators", ACM TOMS 47(4), 2021; Marsaglia and Bray, SIAM Review 6(3), 1964.
 * @param seed  any whole number; the same seed gives the same sequence on every machine
 */
export function seededRandom(seed: number): Random {
  let state = kernels.seededState(seed);
  const keep = (): void => {
    state = kernels.randomState();
  };
  const takeTurn = (): void => {
    if (putAway === keep) return;
    putAway();
    kernels.drawFrom(state);
    putAway = keep;
  };
  return {
    uniform() {
      takeTurn();
      return kernels.uniform();
    },
    normal() {
      takeTurn();
      return kernels.normal();
    },
    takeTurn,
  };
}
