/** Findings as the protocol's diagnostics. */
import { type Diagnostic, DiagnosticSeverity, DiagnosticTag } from 'vscode-languageserver-types';
import { rangeOf } from '../plan/places.ts';
import type { Workspace } from '../plan/workspace.ts';
import type { Finding, Severity } from '../rules/rule.ts';

const SEVERITIES: Readonly<Record<Severity, DiagnosticSeverity>> = {
  error: DiagnosticSeverity.Error,
  warning: DiagnosticSeverity.Warning,
  info: DiagnosticSeverity.Information,
  hint: DiagnosticSeverity.Hint,
};

/** Makes the link to a rule's page from its code. */
export type PageLink = (code: string) => string;

/** Findings of a file as diagnostics, with related places, tags, and the link to the rule's page for clients that can follow it. */
export function diagnostics(
  workspace: Workspace,
  findings: readonly Finding[],
  pageLink: PageLink | undefined,
): Diagnostic[] {
  return findings.flatMap((finding) => {
    const range = rangeOf(workspace, finding.at);
    if (!range) return [];
    const relatedInformation = finding.related.flatMap(({ at, message }) => {
      const place = rangeOf(workspace, at);
      return place ? [{ location: { uri: place.uri, range: { start: place.start, end: place.end } }, message }] : [];
    });
    return [
      {
        range: { start: range.start, end: range.end },
        severity: SEVERITIES[finding.severity],
        code: finding.code,
        ...(pageLink ? { codeDescription: { href: pageLink(finding.code) } } : {}),
        source: 'legwise',
        message: finding.message,
        ...(relatedInformation.length > 0 ? { relatedInformation } : {}),
        ...(finding.unnecessary ? { tags: [DiagnosticTag.Unnecessary] } : {}),
      },
    ];
  });
}
