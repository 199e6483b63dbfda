import type { Analysis } from './analysis.ts';

/** The analysis of the grammar, which the build puts here; undefined where the parser has yet to make it. */
export const ANALYSIS: Analysis | undefined = undefined;
