import type { EntrySyntax, LineSyntax, NameNode } from '../../grammar/syntax.ts';
import { nearest } from '../plan/nearest.ts';
import { entriesNaming, NAMESPACE_NOUNS, type NameUse, nameUsesIn } from '../plan/references.ts';
import { eachName, type NamesSeen, namesChanged, namesSeen, nearestOf, type Scope } from '../plan/workspace.ts';
import { orList, quoted, type Rule } from './rule.ts';

/** A name that nothing in reach of the file defines. */
export const unknownName: Rule = {
  code: 'unknown-name',
  severity: 'error',
  title: 'A name is not known',
  page: {
    means:
      'The line names something that neither this file nor any file it uses defines. Names compare exactly, capitals included.',
    why: 'A leg to a place that is not known has no length, and a task whose reserve is not known asks for nothing: no height that depends on it is computed.',
    bad: 'use "club.taskplan"\n\ntask Short\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Training\n  start    Larkfeild at 5200 ft MSL\n  finish   Ashmoor\n',
    good: 'use "club.taskplan"\n\ntask Short\n  aircraft Finch with pilot 82 kg\n  weather  Calm\n  reserve  Training\n  start    Larkfield at 5200 ft MSL\n  finish   Ashmoor\n',
    turnDown: 'It is not turned down: correct the name, define it, or `use` the file that does.',
  },
  *file({ understood }) {
    const { scope, file } = understood;
    for (const entry of entriesNaming(file.syntax)) {
      for (const { namespace, node, line } of unknownIn(entry, scope)) {
        if (isCutShort(line, node)) continue;
        const near = nearest(node.text, eachName(scope, namespace));
        const way =
          near.length > 0 ? ` Did you mean ${orList(near.map(quoted))}?` : ' Define it, or `use` the file that does.';
        yield {
          at: { uri: file.uri, entry, span: node.span },
          message: `no ${NAMESPACE_NOUNS[namespace]} is called ${quoted(node.text)} here.${way}`,
        };
      }
    }
  },
};

interface Unknown {
  readonly uses: readonly NameUse[];
  seen: NamesSeen;
}

const unknownKept = new WeakMap<EntrySyntax, Unknown>();

/** The names that an entry uses and that nothing defines; after an edit only what it may have changed is looked up. */
function unknownIn(entry: EntrySyntax, scope: Scope): readonly NameUse[] {
  const uses = nameUsesIn(entry);
  const known = unknownKept.get(entry);
  const changed = known && namesChanged(scope, known.seen);
  if (known && changed && !uses.some(({ node }) => changed.has(node.text))) {
    known.seen = namesSeen(scope);
    return known.uses;
  }
  const unknown = uses.filter(({ namespace, node }) => !nearestOf(scope, namespace, node.text));
  unknownKept.set(entry, { uses: unknown, seen: namesSeen(scope) });
  return unknown;
}

/** Whether the line has a mistake right at the name (no closing quotes, or several words and none), which says more. */
function isCutShort(line: LineSyntax, node: NameNode): boolean {
  const next = line.tokens.find((tok) => tok.startOffset >= node.span.end)?.startOffset ?? node.span.end;
  return line.problems.some(({ span }) => span.start <= next && span.end >= node.span.start);
}
