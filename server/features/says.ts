/**
 * What an entry or a detail is for, in one sentence. In the editor only what is loaded later has these sentences
 * (`.dev/parts.mjs`): ask here, not the form.
 */
import type { Form } from '../../grammar/vocabulary.ts';

export function saysOf(form: Form): string {
  return form.says;
}
