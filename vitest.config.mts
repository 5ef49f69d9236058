import { defineConfig } from 'vitest/config'

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    pool: 'forks',
    maxWorkers: 2,
    testTimeout: 30_000,
    expect: { poll: { timeout: 10_000 } },
    hookTimeout: 60_000,
  },
})
