import type { EntrySyntax, Span } from '../../grammar/syntax.ts';

/** A place in some file. The entry is the anchor, since it keeps its identity when lines above it change. */
export interface Place {
  readonly uri: string;
  readonly entry: EntrySyntax;
  readonly span: Span;
}
