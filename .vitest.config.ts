import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    root: import.meta.dirname,
    include: ['tests/**/*.test.{ts,tsx}'],
    benchmark: { include: ['tests/bench/**/*.bench.ts'] },
    testTimeout: 30_000,
    pool: 'threads',
    maxWorkers: 2,
  },
});
