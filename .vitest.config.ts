import { defineConfig } from 'vitest/config';

const results = process.env['STRANDWISE_RESULTS'];

export default defineConfig({
  test: {
    root: import.meta.dirname,
    include: ['tests/**/*.test.{ts,tsx}'],
    benchmark: { include: ['tests/bench/**/*.bench.ts'] },
    testTimeout: 60_000,
    pool: 'forks',
    maxWorkers: 2,
    ...(results ? { reporters: ['default', 'json'], outputFile: { json: results } } : {}),
  },
});
