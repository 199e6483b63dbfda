/** Every rule, in the order of the manual. A new rule is one file and one line here. */
import { belowReserve } from './below-reserve.ts';
import type { Rule } from './rule.ts';
import { unitMissing } from './unit-missing.ts';
import { unknownName } from './unknown-name.ts';

export const RULES: readonly Rule[] = [unitMissing, unknownName, belowReserve];

const byCode = new Map(RULES.map((rule) => [rule.code, rule]));

export function ruleOf(code: string): Rule | undefined {
  return byCode.get(code);
}
