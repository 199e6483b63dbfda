/**
 * The side view of a task: height over the distance flown. The planned path, the lowest that still arrives with what is
 * asked, the ground and what stands on it, airspace, climbs, stretches without a field, and the least margin.
 */
import { ticks } from 'd3-array';
import { curveLinear, line as lineOf } from 'd3-shape';
import type { Picture, PictureLeg, PicturePoint, PictureSlice } from '../../plan/picture.ts';
import { number } from '../../plan/show.ts';
import {
  drawing,
  hatched,
  hatchings,
  type Kind,
  keyRows,
  look,
  noteLines,
  type Pen,
  penOf,
  shortened,
  text,
  widthOf,
} from './ink.ts';
import { around, type Box, inLines, Places } from './labels.ts';
import {
  type LaidLeg,
  pathAboveGround,
  SIDE_KEY,
  type SideKey,
  type SideOptions,
  type SideScales,
  sideScales,
} from './side-scales.ts';
import { type At, type Attributes, line, px, tag, words } from './svg.ts';
import { lengthIn, showOf } from './units.ts';

export { type LaidLeg, type SideOptions, type SideScales, sideScales } from './side-scales.ts';

const MARGIN_CELL = 9;

/** Everything that one drawing is made with. */
interface Canvas {
  readonly picture: Picture;
  readonly options: SideOptions;
  readonly scales: SideScales;
  readonly pen: Pen;
  readonly with_: ReturnType<typeof showOf>;
  readonly places: Places;
  /** Kinds of lines in it, for the key below. */
  readonly used: Set<SideKey>;
}

/** The side view of a task as SVG. Pure: the same picture and options give the same text. */
export function sideView(picture: Picture, options: SideOptions): string {
  const scales = sideScales(picture, options);
  const pen = penOf(options);
  const { plot } = scales;
  const canvas: Canvas = {
    picture,
    options,
    scales,
    pen,
    with_: showOf(picture),
    places: new Places(plot),
    used: new Set(),
  };
  // Labels are placed in order of weight, and drawn in order of depth.
  for (const laid of scales.legs) takeMarks(laid, canvas);
  const margin = leastMargin(canvas);
  const { shapes: airspaces, labels: airspaceLabels } = airspaceOf(canvas);
  const legs = scales.legs.map((laid) => legOf(laid, canvas));
  const solids = scales.legs.map((laid) => solidsOf(laid, canvas));
  const clip = pen.id('side-plot');
  return drawing(
    options,
    'side',
    `Side view of ${picture.task}`,
    describe(canvas),
    tag('defs', {}, tag('clipPath', { id: clip }, tag('rect', { ...plot })), hatchings(pen)),
    axes(canvas),
    tag(
      'g',
      { 'clip-path': `url(#${clip})` },
      ...airspaces,
      ...scales.legs.map((laid) => groundOf(laid, canvas)),
      ...solids.map(({ shapes }) => shapes),
      ...legs,
      place(canvas),
    ),
    ...airspaceLabels,
    ...solids.map(({ labels }) => labels),
    margin.shapes,
    boundaries(canvas, margin.said),
    ...(options.bare
      ? []
      : [
          keyRows(
            {
              used: canvas.used,
              ...SIDE_KEY,
              sign: (entry, at, own) => sample(entry, at.x, at.y, own.size * 2, own),
            },
            plot.y + plot.height + pen.size * 3.6,
            options.width,
            pen,
          ),
          noteLines(scales.notes, plot.y + plot.height + pen.size * 4.9 + scales.keyMore, pen),
        ]),
  );
}

/** What a reader without eyes for it is told. */
function describe({ picture, with_ }: Canvas): string {
  const parts = picture.legs.map(({ number: leg, from, to, notComputed, cells }) =>
    notComputed === null
      ? `Leg ${leg} from ${from} to ${to}: ${cells[1]}, margin ${cells[MARGIN_CELL]}.`
      : `Leg ${leg} from ${from} to ${to} is not computed: ${notComputed}.`,
  );
  const { least } = picture;
  if (least) parts.push(`The least margin is that of leg ${least.leg}.`);
  return [`Heights in ${with_.units.altitude.words} above the sea over the distance flown.`, ...parts].join(' ');
}

function visible(laid: LaidLeg, { scales }: Canvas): boolean {
  return laid.toM >= scales.window.fromM && laid.fromM <= scales.window.toM;
}

const path = lineOf<At>(
  ({ x }) => x,
  ({ y }) => y,
).curve(curveLinear);

function curve(points: readonly PicturePoint[], laid: LaidLeg, { scales }: Canvas): string {
  return path(points.map(({ xM, altitudeM }) => ({ x: scales.across(laid.fromM + xM), y: scales.y(altitudeM) }))) ?? '';
}

/** The glides of a path: a climb on the way, two points at one distance, is drawn as a climb. */
function glidesOf(points: readonly PicturePoint[]): PicturePoint[][] {
  const glides: PicturePoint[][] = [];
  for (const [i, point] of points.entries()) {
    const before = points[i - 1];
    if (!before || (point.xM === before.xM && point.altitudeM > before.altitudeM)) glides.push([point]);
    else glides.at(-1)?.push(point);
  }
  return glides;
}

/** The altitude of the planned path at a distance; undefined without one. */
function altitudeOn({ path: points }: PictureLeg, xM: number): number | undefined {
  const before = points.findLast((point) => point.xM <= xM) ?? points[0];
  const behind = points.find((point) => point.xM > xM) ?? before;
  if (!before || !behind) return undefined;
  const share = behind.xM > before.xM ? (xM - before.xM) / (behind.xM - before.xM) : 0;
  return before.altitudeM + share * (behind.altitudeM - before.altitudeM);
}

/** Keeps labels off the path of a leg, its climbs, pennants and crosses, and the words over a leg without a path. */
function takeMarks(laid: LaidLeg, canvas: Canvas): void {
  const { scales, pen, places } = canvas;
  const { leg, fromM } = laid;
  if (!visible(laid, canvas)) return;
  for (const glide of glidesOf(pathAboveGround(leg)))
    places.takeLine(glide.map(({ xM, altitudeM }) => ({ x: scales.across(fromM + xM), y: scales.y(altitudeM) })));
  for (const { xM, fromAltitudeM, toAltitudeM } of leg.climbs) {
    const x = scales.across(fromM + xM);
    places.takeLine([
      { x, y: scales.y(fromAltitudeM ?? scales.lowM) },
      { x, y: scales.y(toAltitudeM) },
    ]);
  }
  places.takeLine(
    leg.required.map(({ xM, altitudeM }) => ({ x: scales.across(fromM + xM), y: scales.y(altitudeM) })),
    1,
  );
  const gap = gapWords(laid, canvas);
  if (gap) places.take(gap.box);
  const home = leg.finishInReachAfterM;
  const homeM = home === null ? undefined : altitudeOn(leg, home);
  if (home !== null && homeM !== undefined) {
    const x = scales.across(fromM + home);
    places.take({ x, y: scales.y(homeM) - pen.size * 1.4, width: pen.size * 0.9, height: pen.size * 1.4 });
  }
  const stopM = leg.reachesGroundAfterM ?? leg.noHeadwayAfterM;
  const last = pathAboveGround(leg).at(-1);
  if (stopM !== null && last) {
    const r = pen.size * 0.5;
    places.take({
      x: scales.across(fromM + last.xM) - r,
      y: scales.y(last.altitudeM) - r,
      width: 2 * r,
      height: 2 * r,
    });
  }
}

function axes({ scales, pen, with_, picture, options }: Canvas): string {
  const { plot, lowM, highM, window } = scales;
  const out: string[] = [];
  const height = lengthIn(with_.units.altitude);
  const rows = Math.max(1, Math.min(8, Math.floor(plot.height / (pen.size * 2.6))));
  const steps = ticks(height.from(lowM), height.from(highM), rows);
  const bottom = plot.y + plot.height;
  let above = Infinity;
  for (const step of steps) {
    const y = scales.y(height.to(step));
    // Below the unit of the axis, and apart from each other.
    if (above - y < pen.size * 1.15 || y < plot.y + pen.size * 0.6) continue;
    above = y;
    out.push(tag('path', { ...look('grid', pen), d: `M${px(plot.x)},${px(y)}H${px(plot.x + plot.width)}` }));
    out.push(text(number(step), { x: plot.x - pen.size * 0.4, y: y + pen.size * 0.35 }, pen, { anchor: 'end' }));
  }
  out.push(
    text(`${with_.units.altitude.text} MSL`, { x: pen.size * 0.3, y: plot.y - pen.size * 0.5 }, pen, {
      size: pen.letters(0.92),
    }),
  );
  const distance = lengthIn(with_.units.distance);
  const known = scales.legs.filter(({ leg, known: is }) => leg.startM !== null && is);
  const last = known.at(-1);
  if (last) {
    const fromM = window.fromM;
    const toM = Math.min(window.toM, last.toM);
    const columns = Math.max(2, Math.min(12, Math.floor(plot.width / (pen.size * 6))));
    const marks = toM > fromM ? ticks(distance.from(fromM), distance.from(toM), columns) : [];
    const decimals = marks.every((mark) => Math.abs(mark - Math.round(mark)) < 1e-9) ? 0 : 1;
    for (const mark of marks) {
      const x = scales.across(distance.to(mark));
      out.push(tag('path', { ...look('axis', pen), d: `M${px(x)},${px(bottom)}v${px(pen.size * 0.35)}` }));
      out.push(text(number(mark, decimals), { x, y: bottom + pen.size * 1.4 }, pen, { anchor: 'middle' }));
    }
    const unit = with_.units.distance.text;
    const size = pen.letters(0.92);
    // With no line of its own the unit stands before the numbers.
    if (options.bare) {
      const at = { x: pen.size * 0.3, y: bottom + pen.size * 1.4 };
      const said = widthOf(`${unit} flown`, size) <= plot.x - pen.size * 0.6 ? `${unit} flown` : unit;
      out.push(text(said, at, pen, { size }));
    } else
      out.push(
        text(`distance flown, ${unit}`, { x: plot.x + plot.width, y: bottom + pen.size * 2.5 }, pen, {
          anchor: 'end',
          size,
        }),
      );
  } else if (picture.legs.length > 0)
    out.push(text('distances not known', { x: plot.x, y: bottom + pen.size * 1.4 }, pen, { size: pen.letters(0.92) }));
  out.push(
    tag('path', {
      ...look('axis', pen),
      d: `M${px(plot.x)},${px(plot.y)}V${px(bottom)}H${px(plot.x + plot.width)}`,
    }),
  );
  return tag('g', { class: 'lw-axes' }, ...out);
}

function lineAttributes(leg: PictureLeg): Attributes {
  return { 'data-leg': String(leg.number), 'data-line': String(leg.lines.first) };
}

/** One leg: where it is hit, the path, what is asked, its climbs, its stretches without a field. */
function legOf(laid: LaidLeg, canvas: Canvas): string {
  if (!visible(laid, canvas)) return '';
  const { leg } = laid;
  const { scales, pen, options, used } = canvas;
  const { plot } = scales;
  const lit = options.leg === leg.number;
  const left = scales.across(laid.fromM);
  const right = scales.across(laid.toM);
  const out: string[] = [
    words(
      'title',
      `leg ${leg.number}: ${leg.from} to ${leg.to}${leg.notComputed === null ? `, margin ${leg.cells[MARGIN_CELL]}` : ', not computed'}`,
    ),
    tag('rect', {
      class: lit ? 'lw-hit lw-lit' : 'lw-hit',
      x: left,
      y: plot.y,
      width: Math.max(right - left, 0),
      height: plot.height,
      fill: 'none',
      'pointer-events': 'all',
    }),
  ];
  const gap = gapOf(laid, canvas);
  if (gap) out.push(gap);
  if (leg.required.length > 1) {
    used.add('required');
    out.push(tag('path', { ...look('required', pen), d: curve(leg.required, laid, canvas) }));
  }
  const flown = pathAboveGround(leg);
  if (flown.length > 1) {
    used.add('path');
    const attributes = look('path', pen, lit ? 'lw-lit' : '');
    const width = Number(attributes['stroke-width']) * (lit ? 1.6 : 1);
    out.push(
      tag('path', {
        ...attributes,
        'stroke-width': width,
        d: glidesOf(flown)
          .map((glide) => curve(glide, laid, canvas))
          .join(''),
      }),
    );
  }
  out.push(...climbsOf(laid, canvas));
  if (leg.askedAltitudeM !== null && leg.destinationElevationM !== null) {
    used.add('asked');
    const y = scales.y(leg.askedAltitudeM);
    out.push(tag('path', { ...look('asked', pen), d: `M${px(right - pen.size)},${px(y)}H${px(right)}` }));
  }
  const stopM = leg.reachesGroundAfterM ?? leg.noHeadwayAfterM;
  const last = flown.at(-1);
  if (stopM !== null && last) out.push(cross(scales.across(laid.fromM + last.xM), scales.y(last.altitudeM), pen));
  if (leg.departAssumed && leg.departAltitudeM !== null)
    out.push(
      tag('circle', {
        ...look('assumed', pen),
        cx: left,
        cy: scales.y(leg.departAltitudeM),
        r: pen.size * 0.3,
      }),
    );
  for (const { fromM, toM } of leg.stretchesWithoutField) {
    used.add('stretch');
    const y = plot.y + plot.height - pen.size * 0.25;
    // One that is too short to be seen is drawn as long as a dash.
    const from = scales.across(laid.fromM + fromM);
    const to = Math.max(scales.across(laid.fromM + toM), from + pen.size * 0.25);
    out.push(
      tag(
        'g',
        { class: 'lw-stretch-group' },
        words(
          'title',
          `no field in reach from ${canvas.with_.distance(fromM)} to ${canvas.with_.distance(toM)} on leg ${leg.number}`,
        ),
        tag('path', { ...look('stretch', pen), d: `M${px(from)},${px(y)}H${px(to)}` }),
      ),
    );
  }
  if (leg.finishInReachAfterM !== null) out.push(homeMark(laid, leg.finishInReachAfterM, canvas));
  return tag('g', { class: lit ? 'lw-leg-group lw-lit' : 'lw-leg-group', ...lineAttributes(leg) }, ...out);
}

function cross(x: number, y: number, pen: Pen): string {
  const r = pen.size * 0.4;
  return tag('path', {
    ...look('stop', pen),
    d: `M${px(x - r)},${px(y - r)}l${px(2 * r)},${px(2 * r)}M${px(x - r)},${px(y + r)}l${px(2 * r)},${px(-2 * r)}`,
  });
}

/** Where a leg has no path: its place, the words over it, and what they take; null where it has one to its end. */
function gapWords(laid: LaidLeg, { scales, pen }: Canvas) {
  const { leg } = laid;
  if (leg.notComputed === null) return null;
  const { plot } = scales;
  const from = Math.max(scales.across(laid.fromM + (leg.path.at(-1)?.xM ?? 0)), plot.x);
  const to = Math.min(scales.across(laid.toM), plot.x + plot.width);
  if (to <= from) return null;
  const size = pen.size;
  const middle = { x: (from + to) / 2, y: plot.y + plot.height / 2 };
  const frame = { x: from, y: plot.y, width: to - from, height: plot.height };
  const said = [`leg ${leg.number} not computed`, 'not computed', '?'].flatMap((content) => {
    const width = widthOf(content, size, true);
    return [
      { content, turned: false, width, height: size * 1.1 },
      { content, turned: true, width: size * 1.1, height: width },
    ];
  });
  const words_ = said.find(({ width, height }) => width < frame.width - 2 && height < frame.height);
  const { width = 0, height = 0 } = words_ ?? {};
  return { frame, middle, words: words_, box: { x: middle.x - width / 2, y: middle.y - height / 2, width, height } };
}

/** Where a leg has no path: hatched, and said. */
function gapOf(laid: LaidLeg, canvas: Canvas): string | null {
  const { pen } = canvas;
  const gap = gapWords(laid, canvas);
  if (!gap) return null;
  const { frame, middle, words: said } = gap;
  const at = said?.turned
    ? { x: middle.x + pen.size * 0.35, y: middle.y }
    : { x: middle.x, y: middle.y + pen.size * 0.35 };
  return [
    tag('rect', { ...look('gap', pen), ...frame, fill: hatched(pen, 'gap') }),
    ...(said ? [text(said.content, at, pen, { anchor: 'middle', halo: true, bold: true, turned: said.turned })] : []),
  ].join('');
}

function climbsOf(laid: LaidLeg, canvas: Canvas): string[] {
  const { scales, pen, used, with_, places } = canvas;
  return laid.leg.climbs.map((climb) => {
    used.add('climb');
    const x = scales.across(laid.fromM + climb.xM);
    const top = scales.y(climb.toAltitudeM);
    const from = scales.y(climb.fromAltitudeM ?? scales.lowM);
    const head = pen.size * 0.45;
    const inside = x >= scales.plot.x - 1 && x <= scales.plot.x + scales.plot.width + 1;
    const said = with_.height(climb.toAltitudeM, 'down');
    const size = pen.letters(0.9);
    const width = widthOf(said, size);
    const boxes = [
      { x: x - width / 2, y: top - size * 1.35, width, height: size },
      { x: x + pen.size * 0.4, y: top - size * 1.2, width, height: size },
      { x: x - width - pen.size * 0.4, y: top - size * 1.2, width, height: size },
      { x: x + pen.size * 0.4, y: top + size * 0.6, width, height: size },
      { x: x - width - pen.size * 0.4, y: top + size * 0.1, width, height: size },
    ];
    const box = inside ? (places.free(boxes, 0) ?? places.free(boxes)) : null;
    return tag(
      'g',
      { class: 'lw-climb-group', 'data-leg': String(laid.leg.number), 'data-line': String(climb.lines.first) },
      words(
        'title',
        `climb to ${with_.altitude(climb.toAltitudeM)}${climb.fromAltitudeM === null ? '' : ` from ${with_.altitude(climb.fromAltitudeM, 'down')}`}${climb.soared ? ', soaring' : ''}`,
      ),
      tag('path', { ...look('climb', pen), d: `M${px(x)},${px(from)}V${px(top)}` }),
      tag('path', {
        ...look('climb-top', pen),
        d: `M${px(x)},${px(top)}l${px(-head / 1.6)},${px(head)}h${px(head * 1.25)}Z`,
      }),
      ...(box ? [text(said, { x: box.x, y: box.y + size * 0.82 }, pen, { size, halo: true })] : []),
    );
  });
}

function homeMark(laid: LaidLeg, afterM: number, { scales, pen, used, with_ }: Canvas): string {
  used.add('home');
  const altitudeM = altitudeOn(laid.leg, afterM);
  if (altitudeM === undefined) return '';
  const x = scales.across(laid.fromM + afterM);
  const y = scales.y(altitudeM);
  return tag(
    'g',
    { class: 'lw-home-group' },
    words('title', `the finish is in reach from ${with_.distance(afterM)} on leg ${laid.leg.number}`),
    homeSign(x, y, pen),
  );
}

/** A pennant on its pole, standing on a point. */
function homeSign(x: number, y: number, pen: Pen): string {
  const tall = pen.size * 1.3;
  return tag('path', {
    ...look('home', pen),
    d: `M${px(x)},${px(y)}v${px(-tall)}l${px(pen.size * 0.75)},${px(pen.size * 0.3)}l${px(-pen.size * 0.75)},${px(pen.size * 0.3)}`,
  });
}

function groundOf(laid: LaidLeg, { scales, pen, used }: Canvas): string {
  const { leg } = laid;
  const { plot } = scales;
  const out: string[] = [];
  const bottom = plot.y + plot.height;
  let part: At[] = [];
  const close = (): void => {
    const first = part[0];
    const last = part.at(-1);
    if (first && last && part.length > 1) {
      used.add('ground');
      const area = [...part, { x: last.x, y: bottom }, { x: first.x, y: bottom }];
      out.push(tag('path', { ...look('ground', pen), d: line(area, true) }));
      out.push(tag('path', { ...look('ground-line', pen), d: line(part) }));
    }
    part = [];
  };
  for (const { xM, highestM } of leg.ground) {
    if (highestM === null) close();
    else part.push({ x: scales.across(laid.fromM + xM), y: scales.y(highestM) });
  }
  close();
  if (leg.lowGround) {
    const { fromM, toM } = leg.lowGround;
    const low = leg.ground.flatMap(({ xM, highestM }) =>
      highestM !== null && xM >= fromM - 100 && xM <= toM + 100
        ? [{ x: scales.across(laid.fromM + xM), y: scales.y(highestM) }]
        : [],
    );
    if (low.length > 0) {
      used.add('low');
      out.push(
        tag(
          'g',
          { class: 'lw-low-group', ...lineAttributes(leg) },
          words('title', `leg ${leg.number} passes the ground too low`),
          tag('path', { ...look('low', pen), d: line(low) }),
        ),
      );
    }
  }
  // Where the ground of the leg's end is known, a stroke shows it with or without elevation data.
  for (const [xM, elevationM] of [[laid.toM - laid.fromM, leg.destinationElevationM] as const]) {
    if (elevationM === null) continue;
    const x = scales.across(laid.fromM + xM);
    const y = scales.y(elevationM);
    out.push(
      tag('path', {
        ...look('ground-line', pen),
        'stroke-width': pen.size * 0.18,
        d: `M${px(x - pen.size)},${px(y)}H${px(x + pen.size)}`,
      }),
    );
  }
  return out.length === 0 ? '' : tag('g', { class: 'lw-ground-group', 'data-leg': String(leg.number) }, ...out);
}

/** Fields, turnpoints and obstacles beside the track. */
function solidsOf(laid: LaidLeg, canvas: Canvas): { shapes: string; labels: string } {
  const { scales, pen, places, used, with_ } = canvas;
  const { plot } = scales;
  if (!visible(laid, canvas)) return { shapes: '', labels: '' };
  const shapes: string[] = [];
  const labels: string[] = [];
  for (const { name, kind, xM, topM, tooLow } of laid.leg.solids) {
    const x = scales.across(laid.fromM + xM);
    const y = scales.y(topM);
    if (x < plot.x || x > plot.x + plot.width) continue;
    if (tooLow) used.add('low');
    const s = pen.size * 0.42;
    const bottom = plot.y + plot.height;
    const marks: Record<typeof kind, string> = {
      obstacle: `M${px(x)},${px(y)}L${px(x - s * 0.8)},${px(bottom)}H${px(x + s * 0.8)}Z`,
      field: `M${px(x - s * 1.2)},${px(y)}h${px(s * 2.4)}v${px(s * 0.7)}h${px(-s * 2.4)}Z`,
      turnpoint: `M${px(x)},${px(y)}l${px(s)},${px(s)}l${px(-s)},${px(s)}l${px(-s)},${px(-s)}Z`,
    };
    shapes.push(
      tag(
        'g',
        { class: `lw-solid-group lw-solid-${kind}`, 'data-name': name, ...lineAttributes(laid.leg) },
        words('title', `${kind} ${name}, ${with_.altitude(topM, 'up')}${tooLow ? ', passed too low' : ''}`),
        tag('path', { ...look(tooLow ? 'solid-low' : 'solid', pen), d: marks[kind] }),
      ),
    );
    const size = pen.letters(0.9);
    const said = tooLow ? `${shortened(name, size * 12, size)}: too low` : shortened(name, size * 12, size);
    const width = widthOf(said, size, tooLow);
    const boxes = around(x, y, width, size * 1.05, pen.size * 0.5);
    const box = tooLow
      ? (places.near(boxes, { x, y }) ?? places.near(boxes, { x, y }, Infinity, 2))
      : (places.free(boxes, 0) ?? places.free(boxes));
    if (box) labels.push(text(said, { x: box.x, y: box.y + size * 0.85 }, pen, { size, halo: true, bold: tooLow }));
  }
  return { shapes: shapes.join(''), labels: labels.join('') };
}

/** Slices of airspace, hatched, each with its name and limits where there is room; those that are met always say theirs. */
function airspaceOf(canvas: Canvas): { shapes: string[]; labels: string[] } {
  const { picture, scales, pen, places, used } = canvas;
  const { plot, lowM, highM } = scales;
  const shapes: string[] = [];
  const wanted: { box: Box; name: string; limits: string; force: boolean }[] = [];
  for (const laid of scales.legs) {
    if (!laid.known || !visible(laid, canvas)) continue;
    for (const slice of laid.leg.slices) {
      const volume = picture.volumes[slice.volume];
      const outline = volume && outlineOf(slice, laid, scales, lowM, highM);
      if (!volume || !outline) continue;
      used.add(slice.met === 'enters' ? 'enters' : 'airspace');
      const kind: Kind =
        slice.met === 'enters' ? 'airspace-enters' : slice.met === 'near' ? 'airspace-near' : 'airspace';
      const limits = `${volume.floor} to ${volume.ceiling}`;
      const said = `${volume.name}: ${limits}`;
      shapes.push(
        tag(
          'g',
          { class: 'lw-airspace-group', 'data-volume': String(slice.volume), ...lineAttributes(laid.leg) },
          words('title', said + (slice.met === 'enters' ? ', entered' : slice.met === 'near' ? ', near' : '')),
          tag('path', {
            ...look(kind, pen),
            fill: hatched(pen, slice.met === 'enters' ? 'enters' : 'airspace'),
            d: line(outline, true),
          }),
        ),
      );
      const xs = outline.map(({ x }) => Math.min(Math.max(x, plot.x), plot.x + plot.width));
      const ys = outline.map(({ y }) => Math.min(Math.max(y, plot.y), plot.y + plot.height));
      const [x, y] = [Math.min(...xs), Math.min(...ys)];
      const box = { x, y, width: Math.max(...xs) - x, height: Math.max(...ys) - y };
      wanted.push({ box, name: volume.name, limits, force: slice.met === 'enters' });
    }
  }
  wanted.sort((one, other) => Number(other.force) - Number(one.force));
  const labels: string[] = [];
  const size = pen.letters(0.9);
  const told = new Set<string>();
  for (const { box, name, limits, force } of wanted) {
    // A volume that several legs cut says its name once for sure.
    const sure = force && !told.has(name);
    const most = sure ? Math.max(box.width, plot.width * 0.3) : box.width;
    const lines = inLines(name, limits, ': ', (content) => widthOf(content, size, force) <= box.width).map((content) =>
      sure ? shortened(content, most, size, force) : content,
    );
    const width = Math.max(...lines.map((content) => widthOf(content, size, force)));
    if (!sure && width > box.width * 1.4) continue;
    const height = size * 1.1 * lines.length;
    const at = (x: number, y: number): Box => ({ x, y, width, height });
    const centre = box.x + box.width / 2 - width / 2;
    const boxes: Box[] = [];
    for (const share of [0.5, 0.2, 0.8, 0.05, 0.92]) boxes.push(at(centre, box.y + (box.height - height) * share));
    if (sure) boxes.push(at(centre, box.y + box.height + 2), at(centre, box.y - height - 2));
    const middle = { x: box.x + box.width / 2, y: box.y + box.height / 2 };
    const free = sure ? (places.near(boxes, middle) ?? places.near(boxes, middle, Infinity, 2)) : places.free(boxes);
    if (!free) continue;
    told.add(name);
    for (const [i, content] of lines.entries())
      labels.push(
        text(content, { x: free.x + width / 2, y: free.y + size * (0.86 + 1.1 * i) }, pen, {
          size,
          halo: true,
          bold: force,
          anchor: 'middle',
        }),
      );
  }
  return { shapes, labels };
}

/** The outline of a slice in px; null where a limit is not known or all of it lies beyond what is drawn. */
function outlineOf(slice: PictureSlice, laid: LaidLeg, scales: SideScales, lowM: number, highM: number): At[] | null {
  const side = (limits: PictureSlice['floor']): At[] | null => {
    const points: At[] = [];
    for (const { xM, altitudeM } of limits) {
      if (altitudeM === null) return null;
      const within = Math.min(Math.max(altitudeM, lowM - (highM - lowM)), highM + (highM - lowM));
      points.push({ x: scales.across(laid.fromM + xM), y: scales.y(within) });
    }
    return points;
  };
  const floor = side(slice.floor);
  const ceiling = side(slice.ceiling);
  if (!floor || !ceiling || floor.length === 0 || ceiling.length === 0) return null;
  const highest = Math.max(...slice.ceiling.map(({ altitudeM }) => altitudeM ?? 0));
  const lowest = Math.min(...slice.floor.map(({ altitudeM }) => altitudeM ?? 0));
  return highest < lowM || lowest > highM ? null : [...floor, ...ceiling.toReversed()];
}

/** The least margin: between what is asked and where the path arrives, with its number where there is room for it. */
function leastMargin({ picture, scales, pen, places }: Canvas): { shapes: string; said: boolean } {
  const nothing = { shapes: '', said: false };
  const { least } = picture;
  const laid = least && scales.legs.find(({ leg }) => leg.number === least.leg);
  if (!laid) return nothing;
  const { leg } = laid;
  if (leg.askedAltitudeM === null || leg.arriveAltitudeM === null || leg.marginM === null) return nothing;
  const { plot } = scales;
  const end = scales.across(laid.toM);
  if (end < plot.x || end > plot.x + plot.width + 1) return nothing;
  const x = end - pen.size * 0.5;
  const bottom = plot.y + plot.height - pen.size * 0.3;
  const asked = scales.y(leg.askedAltitudeM);
  const arrive = Math.min(scales.y(leg.arriveAltitudeM), bottom);
  const cap = pen.size * 0.3;
  const said = `least margin ${leg.cells[MARGIN_CELL] ?? ''}`;
  const size = pen.size * 1.08;
  const width = widthOf(said, size, true) + size * 0.6;
  const height = size * 1.5;
  const middle = (asked + arrive) / 2;
  const left = x - width - pen.size * 0.8;
  const right = x + pen.size * 1.2;
  const lower = Math.max(asked, arrive);
  const upper = Math.min(asked, arrive);
  const boxes = [
    { x: left, y: lower + pen.size * 0.6, width, height },
    { x: right, y: lower + pen.size * 0.6, width, height },
    { x: right, y: middle - height / 2, width, height },
    { x: left, y: upper - height - pen.size * 1.6, width, height },
    { x: right, y: upper - height - pen.size * 1.6, width, height },
  ];
  // Off the lowest path too, where it then stays close; never over the path itself.
  const box = places.near(boxes, { x, y: middle }, pen.size * 6, 0) ?? places.near(boxes, { x, y: middle });
  const marks = `M${px(x - cap)},${px(asked)}h${px(2 * cap)}M${px(x - cap)},${px(arrive)}h${px(2 * cap)}M${px(x)},${px(asked)}V${px(arrive)}`;
  const group = { class: leg.marginM < 0 ? 'lw-margin-group lw-short' : 'lw-margin-group', ...lineAttributes(leg) };
  // Without room for its number, which stands over its leg, the place of it is marked.
  if (!box) return { shapes: tag('g', group, tag('path', { ...look('margin', pen), d: marks })), said: false };
  const near = { x: x < box.x ? box.x : Math.min(x, box.x + box.width), y: box.y + height / 2 };
  const shapes = tag(
    'g',
    group,
    tag('path', {
      ...look('margin', pen),
      d: `${marks}M${px(x)},${px(box.y > middle ? lower : upper)}L${px(near.x)},${px(near.y)}`,
    }),
    tag('rect', { ...look('badge', pen), ...box, rx: 2 }),
    text(said, { x: box.x + box.width / 2, y: box.y + height * 0.7 }, pen, {
      anchor: 'middle',
      bold: true,
      size,
      more: 'lw-margin-text',
    }),
  );
  return { shapes, said: true };
}

/** Where legs meet, with the names of the points, and each leg's number and margin. */
function boundaries({ picture, scales, pen, options }: Canvas, marginSaid: boolean): string {
  const { plot, legs } = scales;
  const names = [picture.legs[0]?.from ?? picture.start?.name ?? '', ...picture.legs.map(({ to }) => to)];
  const ends = [0, ...legs.map(({ toM }) => toM)];
  const out: string[] = [];
  const bottom = plot.y + plot.height;
  const baseOf = (row: number) => pen.size * (1.2 + 1.25 * row);
  for (const [row, laid] of scales.nameRows.entries())
    for (const { point, content, middle } of laid) {
      const x = scales.across(ends[point] as number);
      const line_ = point === 0 ? picture.start?.lines.first : picture.legs[point - 1]?.lines.first;
      out.push(
        tag(
          'g',
          { class: 'lw-point-group', ...(line_ === undefined ? {} : { 'data-line': String(line_) }) },
          words('title', names[point] as string),
          tag('path', { ...look('boundary', pen), d: `M${px(x)},${px(baseOf(row) + pen.size * 0.3)}V${px(bottom)}` }),
          text(content, { x: middle, y: baseOf(row) }, pen, {
            anchor: 'middle',
            bold: true,
            halo: true,
            more: 'lw-name',
          }),
        ),
      );
    }
  const named = new Set(scales.nameRows.flat().map(({ point }) => point));
  for (const [point, end] of ends.entries()) {
    const x = scales.across(end);
    if (named.has(point) || x < plot.x - 1 || x > plot.x + plot.width + 1) continue;
    out.push(tag('path', { ...look('boundary', pen), d: `M${px(x)},${px(plot.y)}V${px(bottom)}` }));
  }
  const y = plot.y - pen.size * 0.5;
  const size = pen.letters(0.95);
  for (const { leg, fromM, toM } of legs) {
    const left = Math.max(scales.across(fromM), plot.x);
    const right = Math.min(scales.across(toM), plot.x + plot.width);
    if (right < plot.x || left > plot.x + plot.width) continue;
    const room = right - left - pen.size * 0.4;
    const lit = options.leg === leg.number || (!marginSaid && picture.least?.leg === leg.number);
    const margin = leg.notComputed === null ? leg.cells[MARGIN_CELL] : '?';
    const choices = [`leg ${leg.number}: ${margin}`, `${leg.number}: ${margin}`, `${leg.number}`];
    const said = choices.find((choice) => widthOf(choice, size, lit) <= room);
    if (said === undefined) continue;
    out.push(
      tag(
        'g',
        { class: 'lw-leg-name', ...lineAttributes(leg) },
        text(said, { x: (left + right) / 2, y }, pen, { anchor: 'middle', size, bold: lit, halo: true }),
      ),
    );
  }
  return tag('g', { class: 'lw-boundaries' }, ...out);
}

/** The place of the caret. */
function place({ scales, pen, options, picture, with_ }: Canvas): string {
  const at = options.place;
  const leg = at && picture.legs.find(({ number: one }) => one === at.leg);
  const x = at ? scales.x(at.leg, at.xM) : null;
  if (!at || !leg || x === null) return '';
  const { plot } = scales;
  const altitudeM = altitudeOn(leg, at.xM);
  return tag(
    'g',
    { class: 'lw-caret-group' },
    words('title', `the place marked: ${with_.distance(at.xM)} on leg ${at.leg}`),
    tag('path', { ...look('caret', pen), d: `M${px(x)},${px(plot.y)}v${px(plot.height)}` }),
    ...(altitudeM === undefined
      ? []
      : [tag('circle', { ...look('caret-dot', pen), cx: x, cy: scales.y(altitudeM), r: pen.size * 0.38 })]),
  );
}

function sample(entry: SideKey, x: number, y: number, width: number, pen: Pen): string {
  const across = `M${px(x)},${px(y)}h${px(width)}`;
  const box = { x, y: y - pen.size * 0.4, width, height: pen.size * 0.8 };
  switch (entry) {
    case 'airspace':
      return tag('rect', { ...look('airspace', pen), ...box, fill: hatched(pen, 'airspace') });
    case 'enters':
      return tag('rect', { ...look('airspace-enters', pen), ...box, fill: hatched(pen, 'enters') });
    case 'ground':
      return tag('rect', { ...look('ground', pen), ...box });
    case 'home':
      return homeSign(x + width / 2, y + pen.size * 0.5, pen);
    case 'climb': {
      const head = pen.size * 0.4;
      return (
        tag('path', { ...look('climb', pen), d: `M${px(x + width / 2)},${px(y + pen.size * 0.5)}v${px(-pen.size)}` }) +
        tag('path', {
          ...look('climb-top', pen),
          d: `M${px(x + width / 2)},${px(y - pen.size * 0.6)}l${px(-head / 1.6)},${px(head)}h${px(head * 1.25)}Z`,
        })
      );
    }
    default:
      return tag('path', { ...look(entry, pen), d: across });
  }
}
