import { expect, test } from 'vitest';
import { climbTime } from '../../server/flight/index.ts';

test('climbs take gain over rate; none takes no time; one without a rate never ends', () => {
  expect(climbTime(600, 2)).toBe(300);
  expect(climbTime(0, 2)).toBe(0);
  expect(climbTime(0, 0)).toBe(0);
  expect(climbTime(-5, 0)).toBe(0);
  expect(climbTime(600, 0)).toBeNull();
  expect(climbTime(600, -1)).toBeNull();
  expect(climbTime(600, Number.NaN)).toBeNull();
});
