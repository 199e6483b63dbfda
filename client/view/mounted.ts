/** The further parts of the panel, by the identifier of the section that each is built into. */
import type { Part } from './parts.ts';
import { whatIf } from './what-if.ts';

export const MOUNTED: Readonly<Record<string, Part>> = { 'what-if': whatIf };
