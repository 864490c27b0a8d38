// The convolution is numerics that measures need too, and they come before judging; here it keeps the name under which later stages know it.
export { halfWidth, LEVEL, Z95 } from "../signal/coverage.ts";
