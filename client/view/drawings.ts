/// <reference lib="dom" />
/// <reference lib="dom.iterable" />
/** The side view and the plan view in the panel: drawn to its size, with a crosshair that the pointer or the keyboard moves. */
import type { Picture, PicturePosition, PictureReach } from '../../server/plan/picture-data.ts';
import { type PlanOptions, type PlanScales, planScales, planView } from '../../server/reports/draw/plan-view.ts';
import { type SideOptions, type SideScales, sideScales, sideView } from '../../server/reports/draw/side-view.ts';
import { element, setAttribute, svgOf } from './elements.ts';
import { altitudeOn, type FlightPlace, legOf } from './readout.ts';

/** What is done on a drawing. */
export interface DrawingTold {
  /** The pointer is at a place; undefined where it is at none. */
  onPoint(place: FlightPlace | undefined): void;
  /** A place was clicked, on what stands on a line (from 0) of its own when that is known. */
  onTake(place: FlightPlace, line: number | undefined, focus: boolean): void;
  /** A key on the side view; true when it means something. */
  onKey(key: string, isShift: boolean): boolean;
  /** The room for the drawings is another. */
  onSize(): void;
}

/** What is shown on the drawings of a picture. */
export interface OnDrawing {
  /** Number of the leg that is lit. */
  readonly lit: number | null;
  /** Where the crosshair is. */
  readonly place: FlightPlace | undefined;
  readonly reach: PictureReach | null;
  /** The numbers there, as a screen reader says them. */
  readonly text: string;
  /** How far along the task it is, m. */
  readonly flownM: number | null;
}

/** A pointer this near to a track on the plan view points at it, px. */
const NEAR_PX = 24;
const SVG = 'http://www.w3.org/2000/svg';

interface Size {
  readonly width: number;
  readonly height: number;
}

function mark(name: string, kind: string, attributes: Readonly<Record<string, number>>): SVGElement {
  const made = document.createElementNS(SVG, name);
  made.setAttribute('class', kind);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
  return made;
}

/** One drawing, and the marks over it. */
class Sheet {
  readonly paper: HTMLElement;
  readonly #marks = document.createElementNS(SVG, 'svg');
  #from: readonly unknown[] = [];

  constructor(paper: HTMLElement) {
    this.paper = paper;
    this.#marks.setAttribute('class', 'marks');
    this.#marks.setAttribute('aria-hidden', 'true');
  }

  /** Draws, unless it was drawn from the very same things. */
  draw(from: readonly unknown[], make: () => string): void {
    if (from.length === this.#from.length && from.every((one, i) => one === this.#from[i])) return;
    this.#from = from;
    const svg = svgOf(make());
    this.paper.replaceChildren(...(svg ? [svg] : []), this.#marks);
  }

  mark({ width, height }: Size, marks: readonly SVGElement[]): void {
    setAttribute(this.#marks, 'viewBox', `0 0 ${width} ${height}`);
    setAttribute(this.#marks, 'width', width);
    setAttribute(this.#marks, 'height', height);
    this.#marks.replaceChildren(...marks);
  }

  /** The room that there is, as high as reads well. */
  size(share: number, least: number, most: number): Size {
    const width = Math.floor(this.paper.clientWidth);
    return { width, height: Math.round(Math.min(most, Math.max(least, width * share))) };
  }

  /** Where a pointer is on the drawing, px. */
  at({ clientX, clientY }: MouseEvent): { x: number; y: number } {
    const { left, top } = this.paper.getBoundingClientRect();
    return { x: clientX - left - this.paper.clientLeft, y: clientY - top - this.paper.clientTop };
  }
}

/** A number that a pointer's target, or what it is part of, carries; undefined when there is none. */
function carried(event: Event, name: 'leg' | 'line'): number | undefined {
  const target = event.target instanceof Element ? event.target.closest(`[data-${name}]`) : null;
  const value = Number(target?.getAttribute(`data-${name}`) ?? Number.NaN);
  return Number.isSafeInteger(value) && value >= 0 ? value : undefined;
}

/** The position of a place on the track of its leg. */
function positionOf(picture: Picture, { leg, xM }: FlightPlace): PicturePosition | undefined {
  const { track = [], distanceM = null } = legOf(picture, leg) ?? {};
  if (distanceM === null || track.length < 2) return undefined;
  const at = Math.min(Math.max(xM / Math.max(distanceM, 1), 0), 1) * (track.length - 1);
  const index = Math.min(Math.floor(at), track.length - 2);
  const [from, to] = [track[index], track[index + 1]];
  if (!from || !to) return undefined;
  const share = at - index;
  // The short way round, over the antimeridian too.
  const east = ((to.lonDeg - from.lonDeg + 540) % 360) - 180;
  return { latDeg: from.latDeg + share * (to.latDeg - from.latDeg), lonDeg: from.lonDeg + share * east };
}

export class Drawings {
  readonly side: HTMLElement;
  readonly plan: HTMLElement;
  readonly #side: Sheet;
  readonly #plan: Sheet;
  readonly #told: DrawingTold;
  #picture: Picture | undefined;
  #sideScales: SideScales | undefined;
  #planScales: PlanScales | undefined;
  /** The fields in reach that are drawn, until those of another place are known. */
  #reach: PictureReach | null = null;

  constructor(told: DrawingTold) {
    this.#told = told;
    this.#side = new Sheet(
      element('div', {
        class: 'paper',
        tabindex: 0,
        role: 'slider',
        'aria-label': 'Side view: the place along the task. Arrow keys move it, Enter selects the line of the leg.',
        'aria-valuemin': 0,
      }),
    );
    this.#plan = new Sheet(element('div', { class: 'paper' }));
    this.side = element('figure', { class: 'side' }, this.#side.paper);
    this.plan = element('figure', { class: 'plan' }, this.#plan.paper);
    this.#listen(this.#side, (x) => this.#sideScales?.at(x) ?? undefined);
    this.#listen(this.#plan, (x, y) => this.#planScales?.at({ x, y }, NEAR_PX) ?? undefined);
    this.#side.paper.addEventListener('keydown', (event) => {
      if (event.ctrlKey || event.altKey || event.metaKey) return;
      if (told.onKey(event.key, event.shiftKey)) event.preventDefault();
    });
    const sizes = new ResizeObserver(() => told.onSize());
    sizes.observe(this.#side.paper);
    sizes.observe(this.#plan.paper);
  }

  #listen(sheet: Sheet, placeAt: (x: number, y: number) => FlightPlace | undefined): void {
    const { paper } = sheet;
    const place = (event: MouseEvent) => {
      const { x, y } = sheet.at(event);
      return placeAt(x, y);
    };
    paper.addEventListener('pointermove', (event) => this.#told.onPoint(place(event)));
    paper.addEventListener('pointerleave', () => this.#told.onPoint(undefined));
    paper.addEventListener('click', (event) => {
      const leg = carried(event, 'leg');
      // A leg that is not laid out to scale has no places, but it can be clicked.
      const at = place(event) ?? (leg === undefined ? undefined : { leg, xM: 0 });
      const line = carried(event, 'line');
      if (at) this.#told.onTake(at, line, event.detail > 1);
    });
  }

  /** Draws a picture; what did not change is left as it is. */
  show(picture: Picture, on: OnDrawing): void {
    if (picture !== this.#picture || !on.place) this.#reach = null;
    if (on.reach) this.#reach = on.reach;
    this.#picture = picture;
    const { place, lit } = on;
    const fontSize = Math.round(Number.parseFloat(getComputedStyle(document.body).fontSize) * 0.92) || 12;
    const common = { fontSize, ink: 'themed', ...(lit === null ? {} : { leg: lit }) } as const;
    const sideSize = this.#side.size(0.52, 300, 440);
    if (sideSize.width > 0) {
      const options: SideOptions = { ...common, ...sideSize, idPrefix: 'side' };
      const from = [picture, sideSize.width, sideSize.height, fontSize, lit];
      this.#side.draw(from, () => sideView(picture, options));
      const scales = sideScales(picture, options);
      this.#sideScales = scales;
      this.#side.mark(sideSize, place ? sideMarks(picture, place, scales) : []);
    }
    const planSize = this.#plan.size(0.75, 300, 560);
    if (planSize.width > 0) {
      const reach = this.#reach;
      const options: PlanOptions = { ...common, ...planSize, idPrefix: 'plan', place: reach };
      const from = [picture, planSize.width, planSize.height, fontSize, lit, reach];
      this.#plan.draw(from, () => planView(picture, options));
      const scales = planScales(picture, options);
      this.#planScales = scales;
      const at = place && positionOf(picture, place);
      const { x, y } = at ? scales.point(at) : { x: 0, y: 0 };
      this.#plan.mark(planSize, at ? [mark('circle', 'has', { cx: x, cy: y, r: fontSize * 0.4 })] : []);
    }
    this.#say(on);
  }

  #say({ text, flownM }: OnDrawing): void {
    const { paper } = this.#side;
    setAttribute(paper, 'aria-valuemax', Math.round(this.#sideScales?.lengthM ?? 0));
    setAttribute(paper, 'aria-valuenow', Math.round(flownM ?? 0));
    setAttribute(paper, 'aria-valuetext', text);
  }
}

/** The crosshair on a side view: a line, a dot on the planned path and a diamond on what is required. */
function sideMarks(picture: Picture, { leg, xM }: FlightPlace, scales: SideScales): SVGElement[] {
  const x = scales.x(leg, xM);
  const one = legOf(picture, leg);
  if (x === null || !one) return [];
  const { plot } = scales;
  const marks = [mark('line', 'line', { x1: x, x2: x, y1: plot.y, y2: plot.y + plot.height })];
  const inside = (y: number) => y >= plot.y && y <= plot.y + plot.height;
  const required = altitudeOn(one.required, xM);
  if (required !== undefined && inside(scales.y(required))) {
    const y = scales.y(required);
    const diamond = mark('polygon', 'must', {});
    diamond.setAttribute('points', `${x - 5},${y} ${x},${y - 5} ${x + 5},${y} ${x},${y + 5}`);
    marks.push(diamond);
  }
  const planned = altitudeOn(one.path, xM);
  if (planned !== undefined && inside(scales.y(planned)))
    marks.push(mark('circle', 'has', { cx: x, cy: scales.y(planned), r: 4.5 }));
  return marks;
}
