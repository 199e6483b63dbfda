import { readFileSync } from 'node:fs';
import path from 'node:path';
import { expect, test } from 'vitest';

const read = (file: string): string => readFileSync(path.resolve(import.meta.dirname, file), 'utf8');
const README = read('../../README.md');

// What these files do in the editors is tested by `npm run test:clients`.
test.each([
  { language: 'lua', file: 'neovim.lua' },
  { language: 'elisp', file: 'emacs.el' },
])('the README gives $file, the settings that the tests use', ({ language, file }) => {
  const blocks = [...README.matchAll(/^```(\w+)\n(.*?)^```$/gms)].filter(([, of]) => of === language);
  expect(blocks.map(([, , text]) => text)).toEqual([read(file)]);
});
