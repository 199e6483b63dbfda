import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    root: new URL('..', import.meta.url).pathname,
    include: ['tests/**/*.test.ts'],
    exclude: ['tests/editor/**'],
    setupFiles: ['tests/cases.ts'],
    // Generous, since a machine may be busy: speed is measured in the bench, not here.
    testTimeout: 180_000,
    hookTimeout: 180_000,
  },
});
