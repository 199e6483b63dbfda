/** `check --format sarif`: SARIF 2.1.0, for code hosts and other tools that gather findings. */
import { RULES } from '../rules/index.ts';
import { pageOf } from '../rules/page.ts';
import type { Rule, Severity } from '../rules/rule.ts';
import type { Noted, PlanReport } from './plan-report.ts';

const LEVEL: Readonly<Record<Severity, 'error' | 'warning' | 'note'>> = {
  error: 'error',
  warning: 'warning',
  info: 'note',
  hint: 'note',
};
const BASE = 'SRCROOT';

/** Braces mean placeholders, and `[words](target)` a link, also in plain messages of SARIF. */
function messageText(text: string): string {
  return text
    .toWellFormed()
    .replace(/[{}]/g, '$&$&')
    .replace(/\[(?=[^\]]*\]\()/g, '\\[');
}

/** A path as a relative URI; one outside the working folder stays a whole one. */
function location(file: string): object {
  const encoded = file.toWellFormed().split('/').map(encodeURIComponent).join('/');
  if (/^([A-Za-z]:)?\//.test(file)) {
    return { uri: `file://${file.startsWith('/') ? '' : '/'}${encoded.replace(/^([A-Za-z])%3A/, '$1:')}` };
  }
  return { uri: encoded, uriBaseId: BASE };
}

function ruleOf(rule: Rule): object {
  const page = pageOf(rule);
  return {
    id: rule.code,
    shortDescription: { text: messageText(`${rule.title}.`) },
    fullDescription: { text: messageText(rule.page.means) },
    help: { text: messageText(page), markdown: page },
    defaultConfiguration: { level: LEVEL[rule.severity] },
  };
}

function resultOf(
  { diagnostic: d, source, fingerprint, lineFingerprint }: Noted,
  ruleIndex: ReadonlyMap<string, number>,
): object {
  const region = {
    startLine: d.line,
    startColumn: d.column,
    endLine: d.endLine,
    endColumn: d.endColumn,
    snippet: { text: source.toWellFormed() },
  };
  return {
    ruleId: d.code,
    ruleIndex: ruleIndex.get(d.code) ?? -1,
    level: LEVEL[d.severity],
    message: { text: messageText(d.message) },
    locations: [{ physicalLocation: { artifactLocation: location(d.file), region } }],
    ...(d.related.length > 0
      ? {
          relatedLocations: d.related.map((r, id) => ({
            id,
            physicalLocation: {
              artifactLocation: location(r.file),
              region: { startLine: r.line, startColumn: r.column },
            },
            message: { text: messageText(r.message) },
          })),
        }
      : {}),
    // The higher version also tells the entry, and what is met; who knows only the first still finds it.
    partialFingerprints: { 'codeAndLine/v1': lineFingerprint, 'codeAndLine/v2': fingerprint },
  };
}

/** All findings as one SARIF log with one run. */
export function checkSarif(plans: readonly PlanReport[], version: string): string {
  const ruleIndex = new Map(RULES.map(({ code }, i) => [code, i]));
  const unreadable = plans.flatMap((plan) => plan.unreadable ?? []);
  const log = {
    $schema: 'https://json.schemastore.org/sarif-2.1.0.json',
    version: '2.1.0',
    runs: [
      {
        tool: {
          driver: {
            name: 'Legwise',
            version,
            semanticVersion: version,
            rules: RULES.map(ruleOf),
          },
        },
        columnKind: 'utf16CodeUnits',
        originalUriBaseIds: {
          [BASE]: { description: { text: 'The folder that the check was started in: the top of the repository.' } },
        },
        invocations: [
          {
            executionSuccessful: unreadable.length === 0,
            ...(unreadable.length > 0
              ? {
                  toolExecutionNotifications: unreadable.map((why) => ({
                    level: 'error',
                    message: { text: messageText(why) },
                  })),
                }
              : {}),
          },
        ],
        results: plans.flatMap(({ noted }) => noted.map((one) => resultOf(one, ruleIndex))),
      },
    ],
  };
  return `${JSON.stringify(log, null, 2)}\n`;
}
