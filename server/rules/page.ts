/** A rule's page as Markdown: what the editor and `explain` show. */
import type { Rule, Severity } from './rule.ts';

const SEVERITY_WORDS: Readonly<Record<Severity, string>> = {
  error: 'an error',
  warning: 'a warning',
  info: 'information',
  hint: 'a hint',
};

/** The page of a rule. */
export function pageOf(rule: Rule): string {
  const { page } = rule;
  const block = (text: string) => `\`\`\`taskplan\n${text.trimEnd()}\n\`\`\``;
  return [
    `# ${rule.code}`,
    `${rule.title}. It is ${SEVERITY_WORDS[rule.severity]}.`,
    '## What it means',
    page.means,
    '## Why it matters in the air',
    page.why,
    '## A plan that raises it',
    block(page.bad),
    '## A plan that does not',
    block(page.good),
    '## Turning it down',
    page.turnDown,
    '',
  ].join('\n\n');
}
