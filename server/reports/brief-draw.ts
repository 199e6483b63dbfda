/** The two drawings of a sheet, at the sizes at which they are printed. */
import type { Picture } from '../plan/picture.ts';
import { LEAST_PT } from './brief-ink.ts';
import { planView } from './draw/plan-view.ts';
import { sideView } from './draw/side-view.ts';

/** In points, as everything on paper. */
export interface Size {
  readonly width: number;
  readonly height: number;
  readonly fontSize: number;
}

/**
 * The side view as SVG; undefined where no leg has a path. What its lines mean is said by {@link drawingWords}. `id`
 * keeps what several drawings of one page name apart.
 */
export function sideDrawing(picture: Picture, size: Size, id: string): string | undefined {
  if (!drawnOf(picture).side) return undefined;
  return sideView(picture, { ...size, ...ON_PAPER, idPrefix: `${id}-side` });
}

/** The plan view as SVG, with the wind over it or without; undefined where no leg has both its ends. */
export function planDrawing(picture: Picture, size: Size, winds: boolean, id: string): string | undefined {
  if (!drawnOf(picture).plan) return undefined;
  return planView(picture, { ...size, ...ON_PAPER, winds, idPrefix: `${id}-plan` });
}

const ON_PAPER = { ink: 'print', bare: true, leastSize: LEAST_PT } as const;

/** What of a picture can be drawn. */
export function drawnOf({ legs }: Picture): { readonly side: boolean; readonly plan: boolean } {
  return { side: legs.some(({ path }) => path.length > 0), plan: legs.some(({ track }) => track.length > 0) };
}

/** What the lines and signs of the drawings mean, as far as they are there. */
export function drawingWords(picture: Picture): string[] {
  const { legs, fields, turnpoints, obstacles, volumes } = picture;
  const drawn = drawnOf(picture);
  const either = (there: boolean, text: string) => (there ? [text] : []);
  const side = [
    'bold the path planned',
    ...either(
      legs.some(({ required }) => required.length > 1),
      'dashed the lowest that arrives as asked',
    ),
    ...either(
      legs.some(({ askedAltitudeM }) => askedAltitudeM !== null),
      'bars at the ends the height asked',
    ),
    ...either(
      legs.some(({ climbs }) => climbs.length > 0),
      'dotted climbs',
    ),
    ...either(
      legs.some(({ finishInReachAfterM: at }) => at !== null),
      'a flag where the finish comes into reach',
    ),
    ...either(
      legs.some(({ stretchesWithoutField }) => stretchesWithoutField.length > 0),
      'thick dashes below where no field is in reach',
    ),
    ...either(
      legs.some(({ reachesGroundAfterM: at, noHeadwayAfterM }) => at !== null || noHeadwayAfterM !== null),
      'a cross where the glide ends',
    ),
    ...either(
      legs.some(({ ground }) => ground.length > 0),
      'grey the ground',
    ),
    ...either(
      legs.some(({ slices }) => slices.length > 0),
      'hatched or shaded airspace, darker where it is entered',
    ),
  ];
  const plan = [
    ...either(fields.length > 0, 'discs are fields'),
    ...either(turnpoints.length > 0, 'diamonds turnpoints'),
    ...either(obstacles.length > 0, 'triangles obstacles'),
    ...either(volumes.length > 0, 'hatched or shaded areas airspace'),
  ];
  return [
    ...either(drawn.side, `Side view: ${side.join(', ')}.`),
    ...either(drawn.plan && plan.length > 0, `Plan view, north up: ${plan.join(', ')}.`),
  ];
}
