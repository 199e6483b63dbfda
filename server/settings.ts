/** The settings of a client, as far as they make sense; what does not is as if it were not there. */

import { legalEndOf } from './plan/day.ts';
import { ruleOf } from './rules/index.ts';
import { type CheckOptions, SEVERITIES, type Severity } from './rules/rule.ts';
import type { Overrides } from './rules/run.ts';

export interface Settings {
  readonly codeLens: boolean;
  readonly overrides: Overrides;
  /** The `legwise.inlayHints` object as given; the feature knows its parts. */
  readonly inlayHints: unknown;
  /** What the rules are given: the end of the legal day. */
  readonly rules: CheckOptions;
}

export const DEFAULT_SETTINGS: Settings = {
  codeLens: true,
  overrides: new Map(),
  inlayHints: undefined,
  rules: {},
};

const LEVELS: ReadonlySet<unknown> = new Set([...SEVERITIES, 'off']);

function part(value: unknown, key: string): unknown {
  return typeof value === 'object' && value !== null ? (value as Record<string, unknown>)[key] : undefined;
}

/** Reads the client's `legwise` section. */
export function settingsOf(value: unknown): Settings {
  const overrides = new Map<string, Severity | 'off'>();
  for (const [code, level] of Object.entries(part(value, 'severity') ?? {})) {
    if (ruleOf(code) && LEVELS.has(level)) overrides.set(code, level as Severity | 'off');
  }
  const written = part(value, 'legalEnd');
  const legalEnd = typeof written === 'string' ? legalEndOf(written) : undefined;
  return {
    codeLens: part(part(value, 'codeLens'), 'enable') !== false,
    overrides,
    inlayHints: part(value, 'inlayHints'),
    rules: legalEnd ? { legalEnd } : {},
  };
}
