/**
 * The plan view of a task: north up, with a scale. The legs with their numbers and courses, the fields and which of them
 * are in reach from the place that is marked, turnpoints and their zones, airspace, obstacles, and the wind.
 */
import { tickStep } from 'd3-array';
import type { Picture, PictureLeg } from '../../plan/picture.ts';
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
import { PLAN_KEY, type PlanKey, type PlanOptions, type PlanScales, planScales } from './plan-scales.ts';
import { type At, line, px, tag, words } from './svg.ts';
import { lengthIn, showOf } from './units.ts';

export { type PlanOptions, type PlanScales, planScales, projectionAbout } from './plan-scales.ts';

const COURSE_CELL = 2;
const MARGIN_CELL = 9;

interface Canvas {
  readonly picture: Picture;
  readonly options: PlanOptions;
  readonly scales: PlanScales;
  readonly pen: Pen;
  readonly with_: ReturnType<typeof showOf>;
  readonly places: Places;
  readonly used: Set<PlanKey>;
}

/** The plan view of a task as SVG. Pure: the same picture and options give the same text. */
export function planView(picture: Picture, options: PlanOptions): string {
  const scales = planScales(picture, options);
  const pen = penOf(options);
  const { frame } = scales;
  const bottom = frame.y + frame.height;
  const canvas: Canvas = {
    picture,
    options,
    scales,
    pen,
    with_: showOf(picture),
    places: new Places({ x: frame.x + 2, y: frame.y + 2, width: frame.width - 4, height: frame.height - 4 }),
    used: new Set(),
  };
  // What is fixed is placed first, then the task's own points, which are never dropped, then the others.
  const corner = wind(canvas) + scaleBar(canvas) + north(canvas);
  const airspaces = airspaceOf(canvas);
  const legs = legsOf(canvas);
  const points = pointsOf(canvas);
  const labels = [...points.labels, ...airspaces.labels()];
  const clip = pen.id('plan-frame');
  return drawing(
    options,
    'plan',
    `Plan view of ${picture.task}, north up`,
    describe(canvas),
    tag('defs', {}, tag('clipPath', { id: clip }, tag('rect', { ...frame })), hatchings(pen)),
    tag(
      'g',
      { 'clip-path': `url(#${clip})` },
      ...airspaces.shapes,
      ...legs.lines,
      ...points.shapes,
      ...legs.badges,
      caret(canvas),
      ...labels,
    ),
    corner,
    tag('rect', { ...look('axis', pen), ...frame }),
    ...(options.bare
      ? []
      : [
          keyRows(
            {
              used: canvas.used,
              ...PLAN_KEY,
              sign: (entry, { x, y }, own) => sample(entry, { x: x + own.size * 0.8, y }, own),
            },
            bottom + pen.size * 1.35,
            options.width,
            pen,
          ),
        ]),
    noteLines(scales.notes, bottom + pen.size * (options.bare ? 1.2 : 2.75) + scales.keyMore, pen),
  );
}

function describe({ picture, options }: Canvas): string {
  const parts = picture.legs.map(
    ({ number: leg, from, to, cells }) => `Leg ${leg} from ${from} to ${to}, course ${cells[COURSE_CELL]}.`,
  );
  const reach = options.place;
  if (reach)
    parts.push(
      reach.fields.length === 0
        ? `No field is in reach from the place marked on leg ${reach.leg}.`
        : `In reach from the place marked on leg ${reach.leg}: ${reach.fields.map(({ name }) => name).join(', ')}.`,
    );
  return parts.join(' ');
}

function inside({ x, y }: At, { frame }: PlanScales, more = 0): boolean {
  return (
    x >= frame.x - more &&
    x <= frame.x + frame.width + more &&
    y >= frame.y - more &&
    y <= frame.y + frame.height + more
  );
}

const signed = (leg: PictureLeg) => ({ 'data-leg': String(leg.number), 'data-line': String(leg.lines.first) });

/** The legs, each with an arrow along its course, and its number in a badge beside it. */
function legsOf({ picture, scales, pen, options, places }: Canvas): { lines: string[]; badges: string[] } {
  const lines: string[] = [];
  const badges: string[] = [];
  for (const leg of picture.legs) {
    const points = leg.track.map(scales.point);
    places.takeLine(points);
    const first = points[0];
    const last = points.at(-1);
    if (!first || !last) continue;
    const lit = options.leg === leg.number;
    const kind: Kind = leg.notComputed !== null ? 'leg-gap' : lit ? 'leg-lit' : 'leg';
    const margin = leg.notComputed === null ? `margin ${leg.cells[MARGIN_CELL]}` : 'not computed';
    const out = [
      words('title', `leg ${leg.number}: ${leg.from} to ${leg.to}, ${margin}`),
      tag('path', {
        class: 'lw-hit',
        d: line(points),
        fill: 'none',
        stroke: 'none',
        'stroke-width': pen.size * 1.4,
        'pointer-events': 'stroke',
      }),
      tag('path', { ...look(kind, pen), d: line(points) }),
    ];
    const length = Math.hypot(last.x - first.x, last.y - first.y);
    const at = points.length > 2 ? (points[Math.floor(points.length / 2)] as At) : between(first, last, 0.5);
    // In the middle of the leg; a little behind it, so that there and back are told apart.
    const ahead = length > 0 ? { x: (last.x - first.x) / length, y: (last.y - first.y) / length } : { x: 0, y: -1 };
    if (length > pen.size * 2) out.push(arrow(between(first, last, 0.62), ahead, pen));
    lines.push(tag('g', { class: lit ? 'lw-leg-group lw-lit' : 'lw-leg-group', ...signed(leg) }, ...out));
    // The badge stands to the right of the course.
    const r = pen.size * 0.72;
    const away = pen.size * 1.15;
    const boxes = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8].flatMap((share) =>
      [1, -1].map((side): Box => {
        const on = share === 0.5 ? at : between(first, last, share);
        const x = on.x - ahead.y * away * side;
        const y = on.y + ahead.x * away * side;
        return { x: x - r, y: y - r, width: 2 * r, height: 2 * r };
      }),
    );
    const box = places.near(boxes, at, pen.size * 4, 2);
    if (!box) continue;
    badges.push(
      tag(
        'g',
        { class: 'lw-badge-group', ...signed(leg) },
        tag('circle', { ...look(lit ? 'badge-lit' : 'badge', pen), cx: box.x + r, cy: box.y + r, r }),
        tag(
          'text',
          {
            x: box.x + r,
            y: box.y + r + pen.size * 0.34,
            class: lit ? 'lw-text lw-badge-text-lit' : 'lw-text',
            'text-anchor': 'middle',
            'font-size': pen.letters(0.95),
            'font-weight': 'bold',
            fill: pen.ink === 'themed' ? 'currentColor' : lit ? '#fff' : '#000',
          },
          String(leg.number),
        ),
      ),
    );
  }
  return { lines, badges };
}

const between = (a: At, b: At, share: number): At => ({ x: a.x + share * (b.x - a.x), y: a.y + share * (b.y - a.y) });

function arrow(at: At, ahead: At, pen: Pen): string {
  const long = pen.size * 0.62;
  const wide = pen.size * 0.4;
  const tip = { x: at.x + ahead.x * long, y: at.y + ahead.y * long };
  const tail = { x: at.x - ahead.x * long, y: at.y - ahead.y * long };
  const side = { x: -ahead.y * wide, y: ahead.x * wide };
  const points = [tip, { x: tail.x + side.x, y: tail.y + side.y }, { x: tail.x - side.x, y: tail.y - side.y }];
  return tag('path', { ...look('arrow', pen), d: line(points, true) });
}

interface Symbol_ {
  readonly at: At;
  readonly name: string;
  readonly said: string;
  readonly own: boolean;
  /** What counts more keeps its label. */
  readonly weight: number;
  readonly radius: number;
  readonly mark: string;
}

/** Fields, turnpoints and obstacles, and their names. */
function pointsOf(canvas: Canvas): { shapes: string[]; labels: string[] } {
  const { picture, scales, pen, options, places, used, with_ } = canvas;
  const reach = new Map((options.place?.fields ?? []).map((field) => [field.name, field]));
  const symbols: Symbol_[] = [];
  const shapes: string[] = [];
  for (const { name, position, radiusM, named } of picture.turnpoints) {
    const at = scales.point(position);
    if (!inside(at, scales)) continue;
    used.add('turnpoint');
    if (radiusM !== null && named)
      shapes.push(tag('circle', { ...look('zone', pen), cx: at.x, cy: at.y, r: radiusM / scales.metresPerPx }));
    const r = pen.size * (named ? 0.52 : 0.36);
    const mark = tag('path', { ...look('turnpoint', pen), d: turnpointSign(at, r) });
    symbols.push({
      at,
      name,
      said: `turnpoint ${name}`,
      own: named,
      weight: named ? 3 : 0,
      radius: r,
      mark: tag('g', { class: 'lw-turnpoint-group', 'data-name': name }, words('title', `turnpoint ${name}`), mark),
    });
  }
  for (const { name, position, elevationM, runways, frequency, named } of picture.fields) {
    const at = scales.point(position);
    if (!inside(at, scales)) continue;
    const reached = reach.get(name);
    used.add(reached ? 'reach' : 'field');
    const said = [
      `field ${name}`,
      elevationM === null ? 'elevation not known' : `elevation ${with_.height(elevationM)}`,
      ...(runways.length > 0 ? [`runway ${runways.join(', ')}`] : []),
      ...(frequency === null ? [] : [frequency]),
      ...(reached
        ? [`in reach with ${with_.height(reached.spareM, 'down')} to spare`]
        : options.place
          ? ['out of reach']
          : []),
    ].join(', ');
    symbols.push({
      at,
      name,
      said,
      own: named,
      weight: named ? 4 : reached ? 2 : 1,
      radius: pen.size * (reached ? 0.62 : 0.45),
      mark: tag(
        'g',
        { class: reached ? 'lw-field-group lw-in-reach' : 'lw-field-group', 'data-name': name },
        words('title', said),
        fieldSign(at, reached !== undefined, named, pen),
      ),
    });
  }
  for (const { name, position, topM, radiusM, tooLow } of picture.obstacles) {
    const at = scales.point(position);
    if (!inside(at, scales)) continue;
    used.add('obstacle');
    if (radiusM !== null && radiusM / scales.metresPerPx > pen.size)
      shapes.push(tag('circle', { ...look('zone', pen), cx: at.x, cy: at.y, r: radiusM / scales.metresPerPx }));
    const said = `obstacle ${name}, top ${with_.altitude(topM, 'up')}${tooLow ? ', passed too low' : ''}`;
    symbols.push({
      at,
      name: `${shortened(name, pen.size * 14, pen.size)}${tooLow ? ': too low' : ` ${with_.height(topM, 'up')}`}`,
      said,
      own: tooLow,
      weight: tooLow ? 3.5 : 0.5,
      radius: pen.size * 0.45,
      mark: tag(
        'g',
        { class: 'lw-obstacle-group', 'data-name': name },
        words('title', said),
        tag('path', { ...look(tooLow ? 'obstacle-low' : 'obstacle', pen), d: obstacleSign(at, pen.size * 0.5) }),
      ),
    });
  }
  for (const { at, radius } of symbols)
    places.take({ x: at.x - radius, y: at.y - radius, width: 2 * radius, height: 2 * radius });
  symbols.sort((one, other) => other.weight - one.weight);
  const labels: string[] = [];
  for (const { at, name, own, radius } of symbols) {
    const size = own ? pen.size * 1.05 : pen.letters(0.9);
    const content = shortened(name, Math.max(scales.frame.width / 2.5, size * 8), size, own);
    const width = widthOf(content, size, own);
    const height = size * 1.05;
    const boxes = around(at.x, at.y, width, height, radius + pen.size * 0.25);
    const box = own
      ? (places.free(boxes) ?? places.near(boxes, at, size * 3) ?? places.near(boxes, at, Infinity, 2))
      : places.free(boxes);
    if (!box) continue;
    const leader = leaderTo(at, box, radius, pen);
    labels.push(leader + text(content, { x: box.x, y: box.y + size * 0.84 }, pen, { size, bold: own, halo: true }));
  }
  // The task's own lie on top.
  return { shapes: [...shapes, ...symbols.toReversed().map(({ mark }) => mark)], labels };
}

/** A thin line to a name that stands away from its point. */
function leaderTo(at: At, { x, y, width, height }: Box, radius: number, pen: Pen): string {
  const near = {
    x: Math.min(Math.max(at.x, x), x + width),
    y: Math.min(Math.max(at.y, y + height * 0.2), y + height * 0.8),
  };
  const away = Math.hypot(near.x - at.x, near.y - at.y);
  if (away < radius + pen.size * 0.9) return '';
  const from = between(at, near, radius / away);
  return tag('path', { ...look('boundary', pen), d: line([from, near]) });
}

function turnpointSign({ x, y }: At, r: number): string {
  return `M${px(x)},${px(y - r)}L${px(x + r)},${px(y)}L${px(x)},${px(y + r)}L${px(x - r)},${px(y)}Z`;
}

function obstacleSign({ x, y }: At, r: number): string {
  return `M${px(x)},${px(y - r * 1.3)}L${px(x + r * 0.8)},${px(y + r * 0.7)}H${px(x - r * 0.8)}Z`;
}

/** A field: a disc; in reach it is full and has a ring; the task's own are larger. */
function fieldSign({ x, y }: At, reached: boolean, named: boolean, pen: Pen): string {
  const r = pen.size * (named ? 0.46 : 0.34);
  const disc = tag('circle', {
    ...look(reached ? 'field-reach' : 'field', pen),
    cx: x,
    cy: y,
    r: reached ? r * 0.8 : r,
  });
  return reached ? disc + tag('circle', { ...look('ring', pen), cx: x, cy: y, r: r + pen.size * 0.16 }) : disc;
}

function airspaceOf(canvas: Canvas): { shapes: string[]; labels: () => string[] } {
  const { picture, scales, pen, places, used } = canvas;
  const shapes: string[] = [];
  const wanted: { at: At; name: string; limits: string; weight: number; wide: number; tall: number }[] = [];
  for (const [i, { name, outline, floor, ceiling, met }] of picture.volumes.entries()) {
    const points = outline.map(scales.point);
    const xs = points.map(({ x }) => x);
    const ys = points.map(({ y }) => y);
    const { frame } = scales;
    const left = Math.max(Math.min(...xs), frame.x);
    const right = Math.min(Math.max(...xs), frame.x + frame.width);
    const top = Math.max(Math.min(...ys), frame.y);
    const bottom = Math.min(Math.max(...ys), frame.y + frame.height);
    if (points.length < 3 || left >= right || top >= bottom) continue;
    used.add(met === 'enters' ? 'enters' : 'airspace');
    const kind: Kind = met === 'enters' ? 'airspace-enters' : met === 'near' ? 'airspace-near' : 'airspace';
    const limits = `${floor} to ${ceiling}`;
    const said = `${name}: ${limits}`;
    shapes.push(
      tag(
        'g',
        { class: 'lw-airspace-group', 'data-volume': String(i), 'data-name': name },
        words('title', said + (met === 'enters' ? ', entered' : met === 'near' ? ', near' : '')),
        tag('path', {
          ...look(kind, pen),
          fill: hatched(pen, met === 'enters' ? 'enters' : 'airspace'),
          d: line(points, true),
        }),
      ),
    );
    wanted.push({
      at: { x: (left + right) / 2, y: (top + bottom) / 2 },
      name,
      limits,
      weight: met === 'enters' ? 2 : met === 'near' ? 1 : 0,
      wide: right - left,
      tall: bottom - top,
    });
  }
  return {
    shapes,
    labels: () => {
      const size = pen.letters(0.85);
      const labels: string[] = [];
      for (const { at, name, limits, weight, wide, tall } of wanted.toSorted(
        (one, other) => other.weight - one.weight,
      )) {
        const bold = weight === 2;
        const lines = inLines(name, limits, ': ', (content) => widthOf(content, size, bold) <= wide).map((content) =>
          shortened(content, Math.max(wide * 1.2, size * 16), size, bold),
        );
        const width = Math.max(...lines.map((content) => widthOf(content, size, bold)));
        const height = size * 1.1 * lines.length;
        // Inside, then above and below it, then beside it: it is left out before it hides a name of the task.
        const outside = tall / 2 + height / 2 + 2;
        const beside = wide / 2 + width / 2 + 2;
        const shifts: [number, number][] = [0, -1.4, 1.4, -2.8, 2.8, -4.2, 4.2].flatMap((rows) =>
          [0, -0.35, 0.35].map((share): [number, number] => [share * wide, rows * size]),
        );
        shifts.push([0, outside], [0, -outside], [beside, 0], [-beside, 0]);
        const box = places.free(
          shifts.map(([dx, dy]) => ({ x: at.x - width / 2 + dx, y: at.y - height / 2 + dy, width, height })),
        );
        if (!box) continue;
        for (const [i, content] of lines.entries())
          labels.push(
            text(content, { x: box.x + width / 2, y: box.y + size * (0.86 + 1.1 * i) }, pen, {
              size,
              halo: true,
              bold,
              anchor: 'middle',
            }),
          );
      }
      return labels;
    },
  };
}

function caret({ scales, pen, options, used }: Canvas): string {
  const { place } = options;
  if (!place) return '';
  const at = scales.point(place.position);
  if (!inside(at, scales)) return '';
  used.add('caret');
  return tag(
    'g',
    { class: 'lw-caret-group' },
    words('title', `the place marked on leg ${place.leg}`),
    caretSign(at, pen),
  );
}

function caretSign({ x, y }: At, pen: Pen): string {
  const r = pen.size * 0.42;
  const out = pen.size * 0.85;
  return (
    tag('circle', { ...look('caret-dot', pen), cx: x, cy: y, r }) +
    tag('path', {
      ...look('ring', pen),
      d: `M${px(x - out)},${px(y)}H${px(x - r)}M${px(x + r)},${px(y)}H${px(x + out)}M${px(x)},${px(y - out)}V${px(y - r)}M${px(x)},${px(y + r)}V${px(y + out)}`,
    })
  );
}

/** North, in a corner: everything in the drawing is as true as at its middle. */
function north({ scales, pen, places }: Canvas): string {
  const { frame } = scales;
  const x = frame.x + pen.size * 1.2;
  const y = frame.y + pen.size * 0.8;
  const tall = pen.size * 2.4;
  places.take({ x: frame.x, y: frame.y, width: pen.size * 2.4, height: pen.size * 4.4 });
  return tag(
    'g',
    { class: 'lw-north' },
    words('title', 'north is up'),
    tag('path', {
      ...look('wind', pen),
      d: `M${px(x)},${px(y + tall)}V${px(y)}l${px(-pen.size * 0.35)},${px(pen.size * 0.8)}h${px(pen.size * 0.7)}L${px(x)},${px(y)}`,
    }),
    text('N', { x, y: y + tall + pen.size }, pen, { anchor: 'middle', bold: true, halo: true }),
  );
}

/** A round length of about a quarter of the width. */
function scaleBar({ scales, pen, with_, places }: Canvas): string {
  const { frame, metresPerPx } = scales;
  const unit = lengthIn(with_.units.distance);
  const across = unit.from(frame.width * metresPerPx);
  const round = tickStep(0, across, 5);
  const long = unit.to(round) / metresPerPx;
  // Beside the arrow of north where the frame is too low for both in one corner.
  const beside = frame.height < pen.size * 7.4 ? pen.size * 2 : 0;
  const x = frame.x + pen.size * 0.8 + beside;
  const y = frame.y + frame.height - pen.size * 0.8;
  const decimals = round >= 1 ? 0 : Math.min(3, Math.ceil(-Math.log10(round)));
  const said = `${number(round, decimals)} ${with_.units.distance.text}`;
  places.take({
    x: frame.x + beside,
    y: y - pen.size * 1.8,
    width: Math.max(long, widthOf(said, pen.size)) + pen.size * 1.6,
    height: pen.size * 2.6,
  });
  return tag(
    'g',
    { class: 'lw-scale-group' },
    words('title', `this long is ${said}`),
    tag('path', {
      ...look('scale', pen),
      d: `M${px(x)},${px(y - pen.size * 0.4)}V${px(y)}H${px(x + long)}v${px(-pen.size * 0.4)}`,
    }),
    text(said, { x: x + long / 2, y: y - pen.size * 0.5 }, pen, {
      anchor: long > widthOf(said, pen.size) ? 'middle' : 'start',
      halo: true,
    }),
  );
}

/** The wind by its heights, each with an arrow the way it blows, over the frame, where it hides nothing. */
function wind({ scales, pen }: Canvas): string {
  const size = pen.letters(0.92);
  const out = scales.winds.flatMap(({ fromDeg, said, x, y }) => [
    ...(fromDeg === null ? [] : [windSign({ x: x + pen.size * 0.6, y: y - size * 0.35 }, fromDeg, pen)]),
    text(said, { x: x + (fromDeg === null ? 0 : pen.size * 1.4), y }, pen, { size }),
  ]);
  return tag('g', { class: 'lw-wind-group' }, ...out);
}

/** An arrow that points where the wind blows to. */
function windSign({ x, y }: At, fromDeg: number, pen: Pen): string {
  const to = ((fromDeg + 180) * Math.PI) / 180;
  const ahead = { x: Math.sin(to), y: -Math.cos(to) };
  const half = pen.size * 0.55;
  const tip = { x: x + ahead.x * half, y: y + ahead.y * half };
  const tail = { x: x - ahead.x * half, y: y - ahead.y * half };
  const back = { x: tip.x - ahead.x * half * 0.8, y: tip.y - ahead.y * half * 0.8 };
  const side = { x: -ahead.y * half * 0.45, y: ahead.x * half * 0.45 };
  return tag('path', {
    ...look('wind', pen),
    d: `${line([tail, back])}${line([tip, { x: back.x + side.x, y: back.y + side.y }, { x: back.x - side.x, y: back.y - side.y }], true)}`,
  });
}

function sample(entry: PlanKey, at: At, pen: Pen): string {
  const r = pen.size * 0.42;
  const box = { x: at.x - pen.size * 0.7, y: at.y - pen.size * 0.4, width: pen.size * 1.4, height: pen.size * 0.8 };
  switch (entry) {
    case 'caret':
      return caretSign(at, pen);
    case 'reach':
      return fieldSign(at, true, false, pen);
    case 'field':
      return fieldSign(at, false, false, pen);
    case 'turnpoint':
      return tag('path', { ...look('turnpoint', pen), d: turnpointSign(at, r) });
    case 'obstacle':
      return tag('path', { ...look('obstacle', pen), d: obstacleSign(at, r) });
    case 'airspace':
      return tag('rect', { ...look('airspace', pen), ...box, fill: hatched(pen, 'airspace') });
    case 'enters':
      return tag('rect', { ...look('airspace-enters', pen), ...box, fill: hatched(pen, 'enters') });
  }
}
