/** The two drawings of a sheet, at the sizes at which they are printed. */
import type { Picture } from '../plan/picture.ts';
import { planView } from './draw/plan-view.ts';
import { sideView } from './draw/side-view.ts';

/** In points, as everything on paper. */
export interface Size {
  readonly width: number;
  readonly height: number;
  readonly fontSize: number;
}

/** The side view as SVG; undefined where no leg has a path. `id` keeps what several drawings of one page name apart. */
export function sideDrawing(picture: Picture, size: Size, id: string): string | undefined {
  if (!picture.legs.some(({ path }) => path.length > 0)) return undefined;
  return sideView(picture, { ...size, ink: 'print', idPrefix: `${id}-side` });
}

/** The plan view as SVG; undefined where no leg has both its ends. */
export function planDrawing(picture: Picture, size: Size, id: string): string | undefined {
  if (!picture.legs.some(({ track }) => track.length > 0)) return undefined;
  return planView(picture, { ...size, ink: 'print', idPrefix: `${id}-plan` });
}
