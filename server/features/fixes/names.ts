/** Fixes for a name that is not known: the nearest, the file that defines it, or a definition to be filled in. */
import type { Namespace } from '../../../grammar/vocabulary.ts';
import { nearest } from '../../plan/nearest.ts';
import { NAMESPACE_NOUNS, nameUsesIn } from '../../plan/references.ts';
import { eachName, fileName, tableOf } from '../../plan/workspace.ts';
import { entryAbove, useLines } from './blocks.ts';
import { replaceIn, spotOf } from './edit.ts';
import type { Fix, FixContext, Fixer } from './fix.ts';
import { relativePath, usable } from './paths.ts';
import { nameText, shownName, shownText } from './writing.ts';

const MOST_FILES = 3;

/** Says that a value is invented, on the line that holds it. */
export const FILL_IN = '# fill in';

/** Where a new place is put until its coordinates are filled in: where the file's other places are. */
function somewhere({ understood }: FixContext): string {
  for (const file of understood.scope.files) {
    for (const syntax of file.syntax.trees) {
      const node = syntax.head?.slots['position'];
      if (node?.kind === 'coordinates') return syntax.text.slice(node.span.start, node.span.end);
    }
  }
  return '47.0000 N 19.0000 E';
}

/** A new entry with what it must have. */
function skeleton(namespace: Namespace, name: string, landing: boolean, context: FixContext): string[] | undefined {
  const line = (keyword: string, width: number, says: string) => `  ${keyword.padEnd(width)} ${says}  ${FILL_IN}`;
  switch (namespace) {
    case 'point':
      return [
        `${landing ? 'field' : 'turnpoint'} ${name} at ${somewhere(context)}  ${FILL_IN}`,
        line('elevation', 9, '200 m'),
      ];
    case 'aircraft':
      return [
        `aircraft ${name}`,
        line('best glide', 13, '30:1 at 50 kt'),
        line('minimum sink', 13, '1.5 kt at 42 kt'),
        line('polar mass', 13, '310 kg'),
        line('empty mass', 13, '225 kg'),
        line('maximum mass', 13, '340 kg'),
        line('vs', 13, '35 kt'),
        line('vne', 13, '115 kt'),
      ];
    case 'weather':
      return [
        `weather ${name}`,
        line('qnh', 11, '1013.25 hPa'),
        line('temperature', 11, '15 °C at 0 m MSL'),
        line('wind', 11, 'surface from 000° at 0 kt'),
      ];
    case 'reserve':
      return [
        `reserve ${name}`,
        line('arrive', 11, '1000 ft AGL'),
        line('turn', 11, '1500 ft AGL'),
        line('performance', 11, '70 %'),
      ];
    case 'limits':
      return [`limits ${name}`, line('duration', 9, '5 h')];
    default:
      return undefined;
  }
}

export const knownName: Fixer = function* (finding, context) {
  const { workspace, understood } = context;
  const { uri, entry, span } = finding.at;
  const spot = spotOf(workspace, uri, entry);
  const use = nameUsesIn(entry).find(({ node }) => node.span.start === span.start);
  if (!spot || !use) return;
  const { namespace, node } = use;
  const fixes: Fix[] = [];
  for (const file of usable(workspace, uri)) {
    if (fixes.length >= MOST_FILES) break;
    const path = tableOf(file).get(namespace)?.has(node.text) ? relativePath(workspace, uri, file.uri) : undefined;
    if (path !== undefined)
      fixes.push({
        title: `Use ${shownName(fileName(file.uri))}, which defines ${shownName(node.text)}`,
        edits: [useLines(uri, understood.file.syntax, [path])],
      });
  }
  const near = nearest(node.text, eachName(understood.scope, namespace));
  for (const name of near) {
    const text = nameText(name);
    if (text !== undefined)
      fixes.push({ title: `Write ${shownText(name)}`, edits: [replaceIn(spot, node.span, text)] });
  }
  if (fixes.length === 0) {
    const name = nameText(node.text);
    const id = use.line.form?.id;
    const lines = name && skeleton(namespace, name, id === 'finish' || id === 'start', context);
    const edit = lines && entryAbove(uri, understood.file.syntax, entry, lines.join('\n'));
    if (edit)
      yield {
        title: `Define the ${NAMESPACE_NOUNS[namespace]} ${shownName(node.text)}, to be filled in`,
        edits: [edit],
      };
    return;
  }
  yield* fixes.length === 1 ? fixes.map((fix) => ({ ...fix, preferred: true })) : fixes;
};
