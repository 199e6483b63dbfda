import { longEnough } from '../plan/landing.ts';
import { number } from '../plan/show.ts';
import { aircraftRelated, eastTask, legPlace, unreadable } from './leg-words.ts';
import type { Rule } from './rule.ts';

const FINCH = (needs: string) => `aircraft Lark
  best glide   32:1 at 49 kt
  minimum sink 1.3 kt at 41 kt
  polar mass   310 kg
  empty mass   225 kg
  maximum mass 340 kg
  vs           34 kt
  vne          115 kt
  landing      ${needs}
`;

/** A finish whose runways are all shorter than the aircraft needs. */
export const runwayLength: Rule = {
  code: 'runway-length',
  severity: 'warning',
  title: 'No runway of the finish is as long as the aircraft needs',
  page: {
    means:
      'Every runway of the finish is shorter than the line `landing` of the aircraft. A field without a `runway` is not told: nobody has written how long it is.',
    why: 'The length in the handbook is that of a good landing on a dry, level runway. On a shorter one even that landing ends in the hedge; with a tailwind of 10 kt and a little speed in hand it takes half as much again.',
    bad: eastTask({ aircraft: 'Lark with pilot 82 kg' }, FINCH('800 m')),
    good: eastTask({ aircraft: 'Lark with pilot 82 kg' }, FINCH('450 m')),
    turnDown:
      'Finish at a field with a longer runway. `severity` in the settings can make it an info or a hint, or turn it off.',
  },
  *task(context) {
    const { evaluation } = context;
    const leg = evaluation.legs.at(-1);
    const field = leg?.to?.meaning;
    const needs = evaluation.aircraft?.meaning.landingM;
    if (!needs || leg?.kind !== 'finish' || field?.kind !== 'field' || unreadable(field, 'runway')) return;
    const { runways } = field;
    if (runways.length === 0 || runways.some((runway) => longEnough(runway, needs.value))) return;
    const longest = runways.reduce((one, other) => ((other.lengthM ?? 0) > (one.lengthM ?? 0) ? other : one));
    const has = Math.floor((longest.lengthM ?? 0) + 1e-6);
    const asked = Math.ceil(needs.value - 1e-6);
    const text = (metres: number) => `${number(metres)} m`;
    const which =
      runways.length === 1 ? `runway ${longest.text} of ${leg.toName} is` : `every runway of ${leg.toName} is`;
    yield {
      at: legPlace(leg, context),
      message: `${which} ${text(asked - has)} shorter than ${evaluation.aircraft?.meaning.name} needs to land: ${text(has)}${runways.length === 1 ? '' : ` for ${longest.text}, the longest`}, ${text(asked)} asked. Finish at a field with a longer one.`,
      excess: { of: 'distance', si: needs.value - (longest.lengthM ?? 0) },
      related: [
        ...aircraftRelated(evaluation, needs),
        ...(leg.to ? [{ at: { ...leg.to.at, span: longest.line.span }, message: `runway ${longest.text}` }] : []),
      ],
    };
  },
};
