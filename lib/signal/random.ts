/** A seeded source of random numbers, so that every simulation and bootstrap can be repeated. */
export interface Random {
  /** Uniform in [0, 1). */
  uniform(): number;
  /** Standard normal. */
  normal(): number;
}

/**
 * xoshiro128** with splitmix32 seeding; normal deviates by Marsaglia's polar method.
 * Source: Blackman and Vigna, "Scrambled linear pseudorandom number generators", ACM TOMS 47(4), 2021; Marsaglia and Bray, SIAM Review 6(3), 1964.
 * @param seed  any whole number; the same seed gives the same sequence on every machine
 */
export function seededRandom(seed: number): Random {
  let mix = seed | 0;
  const next32 = (): number => {
    mix = (mix + 0x9e3779b9) | 0;
    let z = mix ^ (mix >>> 16);
    z = Math.imul(z, 0x21f0aaad);
    z ^= z >>> 15;
    z = Math.imul(z, 0x735a2d97);
    return (z ^ (z >>> 15)) >>> 0;
  };
  let a = next32();
  let b = next32();
  let c = next32();
  let d = next32();
  const step = (): number => {
    const scrambled = Math.imul(b, 5);
    const result = Math.imul((scrambled << 7) | (scrambled >>> 25), 9) >>> 0;
    const t = b << 9;
    c ^= a;
    d ^= b;
    b ^= c;
    a ^= d;
    c ^= t;
    d = (d << 11) | (d >>> 21);
    return result;
  };
  // 53 bits, from two draws.
  const uniform = (): number => (step() * 0x200000 + (step() >>> 11)) / 2 ** 53;
  let spare: number | null = null;
  const normal = (): number => {
    if (spare !== null) {
      const kept = spare;
      spare = null;
      return kept;
    }
    for (;;) {
      const u = 2 * uniform() - 1;
      const v = 2 * uniform() - 1;
      const s = u * u + v * v;
      if (s > 0 && s < 1) {
        const factor = Math.sqrt((-2 * Math.log(s)) / s);
        spare = v * factor;
        return u * factor;
      }
    }
  };
  return { uniform, normal };
}
