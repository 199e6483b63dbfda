/** `check --format junit`: JUnit XML, which most build servers show: a suite a plan, a case a finding. */
import { harmless } from '../plan/text.ts';
import type { Severity } from '../rules/rule.ts';
import type { Noted, PlanReport } from './plan-report.ts';

/** XML 1.0 has no way to write most control characters, nor half a character. */
function xml(text: string): string {
  return harmless(text.toWellFormed())
    .replace(/[\uFFFE\uFFFF]/g, '\uFFFD')
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;')
    .replaceAll("'", '&apos;');
}

function element(name: string, attributes: Readonly<Record<string, string | number>>, content: readonly string[]) {
  const written = Object.entries(attributes).map(([key, value]) => ` ${key}="${xml(String(value))}"`);
  const open = `<${name}${written.join('')}`;
  return content.length === 0 ? [`${open}/>`] : [`${open}>`, ...content.map((line) => `  ${line}`), `</${name}>`];
}

function textElement(name: string, attributes: Readonly<Record<string, string | number>>, lines: readonly string[]) {
  const [open] = element(name, attributes, []);
  return `${open?.slice(0, -2)}>${lines.map(xml).join('\n')}</${name}>`;
}

function caseOf({ diagnostic: d, source }: Noted, fails: (severity: Severity) => boolean): string[] {
  const lines = [
    `${d.file}:${d.line}:${d.column} ${d.severity} ${d.code}`,
    source.trim(),
    d.message,
    ...d.related.map((r) => `${r.file}:${r.line}:${r.column} ${r.message}`),
  ];
  return element('testcase', { name: `${d.code} at line ${d.line}`, classname: d.file }, [
    fails(d.severity)
      ? textElement('failure', { type: d.code, message: d.message }, lines)
      : textElement('system-out', {}, lines),
  ]);
}

function suiteOf(plan: PlanReport, fails: (severity: Severity) => boolean): string[] {
  const { name, noted, unreadable } = plan;
  const failures = noted.filter(({ diagnostic }) => fails(diagnostic.severity)).length;
  const counts = { tests: Math.max(1, noted.length), failures, errors: unreadable === null ? 0 : 1 };
  const clean = element(
    'testcase',
    { name: 'check', classname: name },
    unreadable === null ? [] : [textElement('error', { type: 'unreadable', message: unreadable }, [unreadable])],
  );
  const cases = noted.length > 0 ? noted.flatMap((one) => caseOf(one, fails)) : clean;
  return element('testsuite', { name, ...counts }, cases);
}

/** All plans; a finding fails when it is as grave as `fails` says, so that the report agrees with the exit status. */
export function checkJunit(plans: readonly PlanReport[], fails: (severity: Severity) => boolean): string {
  const noted = plans.flatMap((plan) => plan.noted);
  const counts = {
    name: 'legwise check',
    tests: plans.reduce((sum, plan) => sum + Math.max(1, plan.noted.length), 0),
    failures: noted.filter(({ diagnostic }) => fails(diagnostic.severity)).length,
    errors: plans.filter(({ unreadable }) => unreadable !== null).length,
  };
  const suites = plans.flatMap((plan) => suiteOf(plan, fails));
  return `${['<?xml version="1.0" encoding="UTF-8"?>', ...element('testsuites', counts, suites)].join('\n')}\n`;
}
