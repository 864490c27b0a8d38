import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: ["test/**/*.test.ts"],
    // Simulated captures and Chromium need more than the default 5 s on two busy cores.
    testTimeout: 60_000,
    hookTimeout: 60_000,
    // By itself vitest leaves one core free, which on two halves the speed.
    maxWorkers: "100%",
  },
});
