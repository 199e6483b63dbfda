import { readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, it } from 'vitest';

const MEDIA = path.resolve(import.meta.dirname, '../../client/media');

/** Relative luminance of `#rrggbb`, as WCAG 2.1 defines it. */
function luminance(colour: string): number {
  const [r = 0, g = 0, b = 0] = [1, 3, 5].map((at) => {
    const value = Number.parseInt(colour.slice(at, at + 2), 16) / 255;
    return value <= 0.03928 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

function contrast(one: string, other: string): number {
  const [dark = 0, light = 0] = [luminance(one), luminance(other)].sort((a, b) => a - b);
  return (light + 0.05) / (dark + 0.05);
}

describe('the icon of a plan', () => {
  // WCAG 2.1, success criterion 1.4.11: graphical objects have a contrast of at least 3 to 1. VS Code shows the dark
  // themes' icon in its light high contrast theme too, on white.
  it.each([
    ['file-dark.svg', ['#1e1e1e', '#000000', '#ffffff']],
    ['file-light.svg', ['#ffffff', '#f3f3f3']],
  ])('%s is seen on every ground that it is shown on', (file, grounds) => {
    const strokes = [...readFileSync(path.join(MEDIA, file), 'utf8').matchAll(/stroke="(#[0-9a-f]{6})"/g)];
    expect(strokes).toHaveLength(3);
    for (const [, stroke = ''] of strokes)
      for (const ground of grounds)
        expect({ stroke, ground, enough: contrast(stroke, ground) >= 3 }).toEqual({ stroke, ground, enough: true });
  });

  it('knows the contrasts that WCAG names: 21 to 1 of black on white', () => {
    expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 10);
  });
});
