/**
 * The name of a plan's file, made from the name of its task: lower case, letters of any script and digits, joined by
 * hyphens. `count` above 1 tells files of one name apart.
 */
export function fileNameFor(task: string, count = 1): string {
  const words =
    task
      .normalize('NFC')
      .toLowerCase()
      .match(/[\p{L}\p{N}\p{M}]+/gu) ?? [];
  // A name may be as long as it likes; a file's may have 255 bytes on most systems.
  let stem = '';
  for (const word of words) {
    const longer = stem === '' ? [...word].slice(0, 40).join('') : `${stem}-${word}`;
    if (stem !== '' && [...longer].length > 60) break;
    stem = longer;
  }
  return `${stem === '' ? 'plan' : stem}${count > 1 ? `-${count}` : ''}.taskplan`;
}
