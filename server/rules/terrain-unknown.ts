import { unknownGround } from '../plan/ground.ts';
import { eastTask, taskPlace } from './leg-words.ts';
import { orList, type Rule } from './rule.ts';

/** Tiles named in a message at most. */
const MOST_TILES = 4;

/** Ground under a task that no elevation tile gives. */
export const terrainUnknown: Rule = {
  code: 'terrain-unknown',
  severity: 'info',
  title: 'The ground under a part of the task is not known',
  page: {
    means:
      'The file, or one that it uses, names a folder of elevation tiles with `terrain`, and under a part of the task there is no height: the tile is not in the folder, is none of the two sizes of the `.hgt` format, or nothing was measured there. The height is never guessed from what lies beside it.',
    why: 'On that part nothing is checked against the ground. A reader who sees no finding would take it for clear.',
    bad: `terrain "tiles"\n\n${eastTask()}`,
    good: eastTask(),
    turnDown:
      'Put the tiles that it names into the folder, or take the `terrain` line out and check the ground on the chart. `severity` in the settings can make it a hint, or turn it off.',
  },
  *task(context) {
    const { evaluation, show } = context;
    const unknown = unknownGround(evaluation);
    if (!unknown) return;
    const { lengthM, tiles, voids } = unknown;
    const named = tiles.slice(0, MOST_TILES).map((name) => `\`${name}\``);
    const more = tiles.length > MOST_TILES ? ` and ${tiles.length - MOST_TILES} more` : '';
    const why = tiles.length > 0 ? `no tile ${orList(named)}${more} can be read` : 'nothing was measured there';
    const also = tiles.length > 0 && voids ? ', and elsewhere nothing was measured' : '';
    const out =
      tiles.length > 0
        ? `Put ${tiles.length === 1 ? 'the tile' : 'the tiles'} into the folder, or check the ground on the chart`
        : 'Check the ground on the chart';
    const { terrain } = evaluation.surroundings;
    yield {
      at: taskPlace(context),
      message: `the ground is not known under ${show.distance(lengthM)} of this task, and is not checked there: ${why}${also}. ${out}.`,
      related: terrain ? [{ at: terrain.at, message: 'the folder of the tiles' }] : [],
    };
  },
};
