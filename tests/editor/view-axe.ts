/**
 * An accessibility checker in a web view: axe-core, with its rules for WCAG 2.2 (levels A and AA) and for good practice.
 * It is a tool of the tests alone, and is in nothing that is shipped.
 */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

/** A frame of the browser's driver, as far as it is used here. */
interface Evaluates {
  evaluate(script: string): Promise<unknown>;
}

interface Violation {
  readonly id: string;
  readonly impact: string | null;
  readonly help: string;
  readonly nodes: readonly { readonly html: string; readonly failureSummary?: string }[];
}

const SERIOUS = new Set(['serious', 'critical']);

/** What axe-core finds in a frame that is serious or worse, one text each; none when all is well. */
export async function seriousIn(frame: Evaluates): Promise<string[]> {
  const source = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
  // Evaluated by the driver, which the page's content security policy does not hold.
  await frame.evaluate(`${source};undefined`);
  const violations = (await frame.evaluate(
    `axe.run(document, { resultTypes: ['violations'] }).then(({ violations }) => violations)`,
  )) as Violation[];
  return violations
    .filter(({ impact }) => impact !== null && SERIOUS.has(impact))
    .map(
      ({ id, impact, help, nodes }) =>
        `${id} (${impact}): ${help}\n${nodes.map(({ html, failureSummary = '' }) => `  ${html}\n  ${failureSummary}`).join('\n')}`,
    );
}
