/** A finding with its place in lines and columns: the shape that every report starts from. */
import type { LinePosition } from '../../grammar/file.ts';
import { rangeOf } from '../plan/places.ts';
import type { Workspace } from '../plan/workspace.ts';
import type { Finding, Severity } from '../rules/rule.ts';

/** Lines and columns count from 1, columns in UTF-16 code units; the end is exclusive. */
export interface Diagnostic {
  readonly file: string;
  readonly line: number;
  readonly column: number;
  readonly endLine: number;
  readonly endColumn: number;
  readonly severity: Severity;
  readonly code: string;
  readonly message: string;
  readonly related: readonly {
    readonly file: string;
    readonly line: number;
    readonly column: number;
    readonly message: string;
  }[];
}

/** What a file is called in reports, by its URI. */
export type NameOf = (uri: string) => string;

/** Counted from 1, and without the byte order mark of a file, which editors keep to themselves. */
function columnOf(workspace: Workspace, uri: string, { line, character }: LinePosition): number {
  const hasMark = line === 0 && workspace.files.get(uri)?.syntax.text.startsWith('\uFEFF') === true;
  return hasMark ? Math.max(1, character) : character + 1;
}

/** A finding with how reports tell it. */
export interface Told {
  readonly finding: Finding;
  readonly diagnostic: Diagnostic;
}

/** The findings of a file, each with its diagnostic. */
export function toldOf(workspace: Workspace, findings: readonly Finding[], nameOf: NameOf): Told[] {
  return findings.flatMap((finding) => {
    const range = rangeOf(workspace, finding.at);
    if (!range) return [];
    const related = finding.related.flatMap(({ at, message }) => {
      const place = rangeOf(workspace, at);
      return place
        ? [
            {
              file: nameOf(place.uri),
              line: place.start.line + 1,
              column: columnOf(workspace, place.uri, place.start),
              message,
            },
          ]
        : [];
    });
    const diagnostic = {
      file: nameOf(range.uri),
      line: range.start.line + 1,
      column: columnOf(workspace, range.uri, range.start),
      endLine: range.end.line + 1,
      endColumn: columnOf(workspace, range.uri, range.end),
      severity: finding.severity,
      code: finding.code,
      message: finding.message,
      related,
    };
    return [{ finding, diagnostic }];
  });
}

/** The findings of a file as diagnostics. */
export function diagnosticsOf(workspace: Workspace, findings: readonly Finding[], nameOf: NameOf): Diagnostic[] {
  return toldOf(workspace, findings, nameOf).map(({ diagnostic }) => diagnostic);
}
