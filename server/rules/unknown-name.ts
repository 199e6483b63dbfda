import { linesOf } from '../../grammar/syntax.ts';
import { type Namespace, slotsOf } from '../../grammar/vocabulary.ts';
import { nearest } from '../plan/nearest.ts';
import { lookUp, namesIn } from '../plan/workspace.ts';
import { orList, quoted, type Rule } from './rule.ts';

const NOUNS: Readonly<Record<Namespace, string>> = {
  point: 'field or turnpoint',
  obstacle: 'obstacle',
  airspace: 'airspace',
  aircraft: 'aircraft',
  weather: 'weather',
  reserve: 'reserve',
  limits: 'limits',
  task: 'task',
};

/** A name that nothing in reach of the file defines. */
export const unknownName: Rule = {
  code: 'unknown-name',
  severity: 'error',
  title: 'A name is not known',
  page: {
    means:
      'The line names something that neither this file nor any file it uses defines. Names compare exactly, capitals included.',
    why: 'A leg to a place that is not known has no length, and a task whose reserve is not known asks for nothing: no height that depends on it is computed.',
    bad: 'use "club.taskplan"\n\ntask Short\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Training\n  start    Larkfeild at 3000 ft MSL\n  finish   Ashmoor\n',
    good: 'use "club.taskplan"\n\ntask Short\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Training\n  start    Larkfield at 3000 ft MSL\n  finish   Ashmoor\n',
    turnDown: 'It is not turned down: correct the name, define it, or `use` the file that does.',
  },
  *file({ understood }) {
    const { scope, file } = understood;
    for (const { placed } of understood.entries) {
      const entry = placed.syntax;
      for (const line of linesOf(entry)) {
        if (!line.form) continue;
        for (const [slotName, slot] of slotsOf(line.form)) {
          const node = line.slots[slotName];
          if (!slot.refers || node?.kind !== 'name' || node.text === '') continue;
          if (lookUp(scope, slot.refers, node.text).length > 0) continue;
          const near = nearest(node.text, namesIn(scope, slot.refers));
          const noun = NOUNS[slot.refers];
          const way =
            near.length > 0 ? ` Did you mean ${orList(near.map(quoted))}?` : ' Define it, or `use` the file that does.';
          yield {
            at: { uri: file.uri, entry, span: node.span },
            message: `no ${noun} is called ${quoted(node.text)} here.${way}`,
          };
        }
      }
    }
  },
};
