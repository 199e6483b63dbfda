/** The drawings of a task: well-formed and harmless for every sample, true to scale, and nothing left unsaid. */
import fc from 'fast-check';
import geodesy from 'geographiclib-geodesic';
import { XmlDocument } from 'libxml2-wasm';
import { describe, expect, test } from 'vitest';
import { decodeTile } from '../../server/flight/index.ts';
import { type Picture, pictureOf, reachAtPlace } from '../../server/plan/picture.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile, setTile, type Workspace } from '../../server/plan/workspace.ts';
import { DRAWING_CSS, shortened, widthOf, wrapped } from '../../server/reports/draw/ink.ts';
import { planScales, planView, projectionAbout } from '../../server/reports/draw/plan-view.ts';
import { sideScales, sideView } from '../../server/reports/draw/side-view.ts';
import { px } from '../../server/reports/draw/svg.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { between } from '../flight/arbitraries.ts';
import { tileBytes } from '../flight/tiles.ts';
import { sampleWorkspace } from './samples.ts';

const { Geodesic } = geodesy;
const SIZE = { width: 700, height: 330 };

function everySample(): { name: string; picture: Picture }[] {
  const workspace = sampleWorkspace();
  return [...workspace.files.values()].flatMap((file) => {
    const understood = understand(workspace, file);
    return understood.tasks.map((task) => ({
      name: `${file.uri.split('/').slice(-2).join('/')}: ${task.task.name}`,
      picture: pictureOf(workspace, understood, task),
    }));
  });
}

const samples = everySample();
const sample = (task: string): Picture => {
  const found = samples.find(({ picture }) => picture.task === task);
  if (!found) throw new Error(task);
  return found.picture;
};

const PLAN = 'file:///plans/plan.taskplan';
const HEAD = 'task Out\n  aircraft Finch with pilot 82 kg\n  weather Breezy\n  reserve Training\n';

function drawn(text: string, also: (workspace: Workspace) => void = () => {}) {
  const workspace = createWorkspace(['file:///plans']);
  setFile(workspace, 'file:///plans/club.taskplan', EXAMPLE_CLUB);
  const file = setFile(workspace, PLAN, `use "club.taskplan"\n\n${text}`);
  also(workspace);
  const understood = understand(workspace, file);
  const [task] = understood.tasks;
  if (!task) throw new Error('no task');
  return { task, picture: pictureOf(workspace, understood, task) };
}

/** Reads it as XML by libxml2, which throws for what is not well-formed, and looks for what a page must not hold. */
function read<T>(svg: string, look: (document: XmlDocument) => T): T {
  const document = XmlDocument.fromString(svg);
  try {
    return look(document);
  } finally {
    document.dispose();
  }
}

const NS = { s: 'http://www.w3.org/2000/svg' };

function wellMade(svg: string): void {
  read(svg, (document) => {
    const all = document.find('//*').map((node) => node.content.length);
    expect(all.length).toBeGreaterThan(3);
    for (const forbidden of [
      '//@style',
      '//s:script',
      '//s:style',
      '//s:foreignObject',
      '//s:image',
      '//@*[starts-with(name(), "on")]',
    ])
      expect([forbidden, document.find(forbidden, NS).length]).toEqual([forbidden, 0]);
    expect(document.get('/s:svg[@role="img"][@aria-label]/s:title', NS)?.content).toMatch(/view of/);
    expect(document.get('/s:svg/s:desc', NS)).not.toBeNull();
    const ids = document.find('//@id').map((node) => node.content);
    expect(new Set(ids).size).toBe(ids.length);
  });
  expect(svg).not.toMatch(/NaN|Infinity|undefined|null/);
}

/** The texts of a drawing, without the halos behind them. */
function textsOf(svg: string): string[] {
  return read(svg, (document) => document.find('//s:text[not(@aria-hidden)]', NS).map((node) => node.content));
}

describe.each(samples.map((one) => [one.name, one.picture] as const))('%s', (_, picture) => {
  test('is well-formed on paper and on a screen, at any size', () => {
    for (const ink of ['print', 'themed'] as const)
      for (const size of [SIZE, { width: 320, height: 200 }, { width: 30, height: 10 }]) {
        wellMade(sideView(picture, { ...size, ink }));
        wellMade(planView(picture, { ...size, ink }));
      }
  });

  test('says every margin as the budget does, and every leg that is not computed', () => {
    const svg = sideView(picture, { width: 2000, height: 600 });
    const texts = textsOf(svg);
    for (const { number, cells, notComputed } of picture.legs) {
      if (notComputed === null) expect(texts).toContain(`leg ${number}: ${cells[9]}`);
      else {
        expect(texts).toContain(`leg ${number} not computed`);
        expect(texts.join(' ')).toContain(notComputed.replace(/\s+/g, ' '));
      }
    }
    if (picture.least) {
      const least = picture.legs.find(({ number }) => number === picture.least?.leg);
      expect(texts).toContain(`least margin ${least?.cells[9]}`);
    }
    // The points of the task are named, whatever else is left out.
    for (const { to } of picture.legs) if (to !== '') expect(texts).toContain(to);
    const plan = textsOf(planView(picture, SIZE));
    for (const { name, named } of [...picture.fields, ...picture.turnpoints]) if (named) expect(plan).toContain(name);
  });

  test('can be hit: each leg has its number and its line', () => {
    for (const svg of [sideView(picture, SIZE), planView(picture, SIZE)])
      read(svg, (document) => {
        for (const { number, lines, track } of picture.legs) {
          if (track.length === 0 && svg.includes('lw-plan ')) continue;
          const found = document.find(`//s:g[contains(@class, "lw-leg-group")][@data-leg="${number}"]`, NS);
          expect(found).toHaveLength(1);
          expect(found[0]?.get('@data-line')?.content).toBe(String(lines.first));
        }
      });
  });
});

describe('the scales of the side view', () => {
  test('go there and back, and agree with the drawing', () => {
    const picture = sample('Late Home');
    const scales = sideScales(picture, SIZE);
    for (const leg of picture.legs)
      for (const share of [0.01, 0.3, 0.99]) {
        const xM = share * (leg.distanceM ?? 0);
        const x = scales.x(leg.number, xM) as number;
        const back = scales.at(x);
        expect(back?.leg).toBe(leg.number);
        expect(back?.xM).toBeCloseTo(xM, 3);
        expect(scales.altitudeAt(scales.y(1234.5))).toBeCloseTo(1234.5, 6);
      }
    expect(scales.at(-5)).toBeNull();
    expect(scales.x(99, 0)).toBeNull();
    // The path's first point is where the scales say.
    const [first] = picture.legs;
    const start = first?.path[0];
    const x = px(scales.x(1, 0) as number);
    const svg = sideView(picture, SIZE);
    read(svg, (document) => {
      const d = document.get('//s:g[@data-leg="1"]/s:path[@class="lw-path"]/@d', NS)?.content ?? '';
      const [, atX, atY] = /^M([\d.]+),([\d.]+)/.exec(d) ?? [];
      expect(Number(atX)).toBeCloseTo(Number(x), 1);
      expect(Number(atY)).toBeCloseTo(scales.y(start?.altitudeM ?? 0), 1);
    });
  });

  test('a window draws a part, larger', () => {
    const picture = sample('Late Home');
    const whole = sideScales(picture, SIZE);
    const part = sideScales(picture, { ...SIZE, window: { fromM: whole.lengthM / 2, toM: whole.lengthM } });
    expect(part.across(whole.lengthM) - part.across(whole.lengthM * 0.9)).toBeGreaterThan(
      1.8 * (whole.across(whole.lengthM) - whole.across(whole.lengthM * 0.9)),
    );
    wellMade(sideView(picture, { ...SIZE, window: { fromM: 9e9, toM: -3 } }));
    wellMade(sideView(picture, { ...SIZE, window: { fromM: 1000, toM: 1000 } }));
  });

  test('round steps in the units of the reader', () => {
    const metric = drawn(
      `units\n  altitude m\n  distance km\n\n${HEAD}  start Larkfield at 5200 ft MSL\n  finish Ashmoor\n`,
    ).picture;
    const texts = textsOf(sideView(metric, SIZE));
    expect(texts).toContain('m MSL');
    expect(texts).toContain('1,000');
    expect(texts).toContain('distance flown, km');
    expect(textsOf(sideView(sample('Late Home'), SIZE))).toContain('ft MSL');
  });
});

describe('the plan view', () => {
  // Source: geographiclib-geodesic, distances and azimuths on WGS84.
  test('distances and directions from its middle are true', () => {
    fc.assert(
      fc.property(
        between(-80, 80),
        between(-180, 180),
        between(0, 360),
        between(100, 300_000),
        (latDeg, lonDeg, azimuth, distance) => {
          const to = Geodesic.WGS84.Direct(latDeg, lonDeg, azimuth, distance);
          const flat = projectionAbout({ latDeg, lonDeg })({ latDeg: to.lat2 ?? 0, lonDeg: to.lon2 ?? 0 });
          const found = Math.hypot(flat.east, flat.north);
          expect(Math.abs(found / distance - 1)).toBeLessThan(1e-4);
          const off = (Math.atan2(flat.east, flat.north) * 180) / Math.PI - azimuth;
          expect(Math.abs((((off % 360) + 540) % 360) - 180)).toBeLessThan(0.05);
        },
      ),
      { numRuns: 1000 },
    );
  });

  test('between places of a task distances are true as well', () => {
    for (const { picture } of samples) {
      const scales = planScales(picture, SIZE);
      for (const { track, distanceM } of picture.legs) {
        const [from, to] = [track[0], track.at(-1)];
        if (!from || !to || distanceM === null || distanceM === 0) continue;
        const [a, b] = [scales.point(from), scales.point(to)];
        const { s12 } = Geodesic.WGS84.Inverse(from.latDeg, from.lonDeg, to.latDeg, to.lonDeg);
        expect(Math.abs((Math.hypot(a.x - b.x, a.y - b.y) * scales.metresPerPx) / (s12 ?? 1) - 1)).toBeLessThan(1e-3);
      }
    }
  });

  test('a place of the drawing is a position, and over a leg a place of the leg', () => {
    const picture = sample('Late Home');
    const scales = planScales(picture, { ...SIZE, zoom: 3 });
    for (const { position } of picture.fields) {
      const back = scales.position(scales.point(position));
      expect(back.latDeg).toBeCloseTo(position.latDeg, 6);
      expect(back.lonDeg).toBeCloseTo(position.lonDeg, 6);
    }
    const [leg] = picture.legs;
    const [from, to] = [leg?.track[0], leg?.track.at(-1)];
    if (!leg || !from || !to) throw new Error('no leg');
    const middle = { latDeg: (from.latDeg + to.latDeg) / 2, lonDeg: (from.lonDeg + to.lonDeg) / 2 };
    const found = scales.at(scales.point(middle));
    expect(found?.leg).toBe(1);
    expect(Math.abs((found?.xM ?? 0) / (leg.distanceM ?? 1) - 0.5)).toBeLessThan(0.01);
    expect(scales.at({ x: -900, y: -900 })).toBeNull();
  });

  test('the scale bar is as long as it says', () => {
    const picture = sample('Late Home');
    const scales = planScales(picture, SIZE);
    const svg = planView(picture, SIZE);
    read(svg, (document) => {
      const said = document.get('//s:g[@class="lw-scale-group"]/s:text[last()]', NS)?.content ?? '';
      const d = document.get('//s:g[@class="lw-scale-group"]/s:path/@d', NS)?.content ?? '';
      const [, x1, x2] = /^M([\d.]+),.*H([\d.]+)/.exec(d) ?? [];
      expect(said).toMatch(/^\d+ NM$/);
      // The nautical mile is 1852 m (BIPM SI Brochure, 9th edition, table 8).
      expect(((Number(x2) - Number(x1)) * scales.metresPerPx) / 1852).toBeCloseTo(Number.parseFloat(said), 1);
    });
  });

  test('north is up', () => {
    const scales = planScales(sample('Late Home'), SIZE);
    const { latDeg, lonDeg } = scales.middle;
    const here = scales.point(scales.middle);
    expect(scales.point({ latDeg: latDeg + 0.05, lonDeg }).y).toBeLessThan(here.y);
    expect(scales.point({ latDeg, lonDeg: lonDeg + 0.05 }).x).toBeGreaterThan(here.x);
  });

  test('the fields in reach from a place have a shape of their own', () => {
    const { task, picture } = drawn(`${HEAD}  start Larkfield at 5200 ft MSL\n  finish Ashmoor\n`);
    const place = reachAtPlace(task, 1, 2000);
    expect(place?.fields.length).toBeGreaterThan(0);
    const svg = planView(picture, { ...SIZE, place });
    wellMade(svg);
    read(svg, (document) => {
      const names = document.find('//s:g[contains(@class, "lw-in-reach")]/@data-name', NS).map((node) => node.content);
      expect(names.sort()).toEqual(place?.fields.map(({ name }) => name).sort());
      expect(document.find('//s:g[contains(@class, "lw-in-reach")]/s:circle[@class="lw-ring"]', NS)).toHaveLength(
        names.length,
      );
    });
    wellMade(sideView(picture, { ...SIZE, place, leg: 1 }));
  });
});

describe('what is not there', () => {
  test('a task without legs, or with unknown points, is drawn and says so', () => {
    for (const text of [
      'task Empty\n',
      'task\n',
      `${HEAD}  start Larkfield at 5200 ft MSL\n`,
      `${HEAD}  start Larkfield at 5200 ft MSL\n  turn Nowhere\n  finish Ashmoor\n`,
      `${HEAD}  start Larkfield at 5200 ft MSL\n  turn Larkfield\n  finish Larkfield\n`,
    ]) {
      const { picture } = drawn(text);
      const side = sideView(picture, SIZE);
      const plan = planView(picture, SIZE);
      wellMade(side);
      wellMade(plan);
      if (picture.legs.length === 0) {
        expect(textsOf(side)).toContain('the task has no legs');
        expect(textsOf(plan)).toContain('the task has no legs');
      }
    }
    const { picture } = drawn(`${HEAD}  start Larkfield at 5200 ft MSL\n  turn Nowhere\n  finish Ashmoor\n`);
    expect(textsOf(planView(picture, SIZE)).join(' ')).toContain('legs 1, 2 not drawn');
    expect(textsOf(sideView(picture, SIZE)).join(' ')).toContain('Nowhere');
  });

  test('a glide that meets the ground ends there, and the next leg says what it starts from', () => {
    const { picture } = drawn(`${HEAD}  start Larkfield at 1400 ft MSL\n  turn Ashmoor\n  finish Larkfield\n`);
    const [first] = picture.legs;
    expect(first?.reachesGroundAfterM).not.toBeNull();
    const svg = sideView(picture, SIZE);
    wellMade(svg);
    const said = textsOf(svg).join(' ');
    expect(said).toContain('leg 1 is down to the height of Ashmoor after');
    expect(said).toContain('leg 2 is drawn from the height asked over Ashmoor');
    expect(svg).toContain('lw-stop');
    expect(svg).toContain('lw-assumed');
  });

  test('ground that is known is drawn, and what is not is said', () => {
    const text = `terrain "tiles"\n\n${HEAD}  start Larkfield at 5200 ft MSL\n  finish Ashmoor\n`;
    const known = drawn(text, (workspace) => {
      const tile = decodeTile(
        tileBytes(1201, (row, column) => 200 + ((row + column) % 50)),
        { latDeg: 47, lonDeg: 19 },
      );
      if (tile) setTile(workspace, 'file:///plans/tiles/N47E019.hgt', tile);
    });
    expect(sideView(known.picture, SIZE)).toContain('>ground<');
    const unknown = sideView(drawn(text).picture, SIZE);
    expect(unknown).not.toContain('>ground<');
    expect(textsOf(unknown)).toContain('ground unknown where no outline is drawn');
  });
});

describe('names that mean harm', () => {
  const HOSTILE = `</text><script>alert(1)</script> & " onload='x' ]]> \u202Etxt`;

  test('are text and nothing else', () => {
    const quoted = HOSTILE.replaceAll('"', '');
    const { task, picture } = drawn(
      `field "${quoted}" at 47.2600 N 19.5900 E\n  elevation 200 m\n\nairspace "${quoted}"\n  floor 3000 ft MSL\n  ceiling FL95\n  circle 47.2600 N 19.5900 E radius 3 NM\n\ntask "${quoted}"\n${HEAD.split('\n').slice(1).join('\n')}  start Larkfield at 5200 ft MSL\n  turn "${quoted}"\n  finish Ashmoor\n`,
    );
    expect(picture.legs[0]?.to).toContain('<script>');
    for (const ink of ['print', 'themed'] as const)
      for (const svg of [
        sideView(picture, { ...SIZE, ink }),
        planView(picture, { ...SIZE, ink, place: reachAtPlace(task, 1, 100) }),
      ]) {
        wellMade(svg);
        expect(svg).not.toContain('<script');
        expect(svg).not.toContain('\u202E');
      }
    wellMade(sideView(picture, { ...SIZE, idPrefix: '"><script>' }));
  });

  test('any text at all is well-formed', () => {
    const base = sample('Late Home');
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 40 }), (name) => {
        const picture: Picture = {
          ...base,
          task: name,
          legs: base.legs.map((leg) => ({ ...leg, from: name, to: name, notComputed: name, path: [] })),
          fields: base.fields.map((field) => ({ ...field, name, frequency: name, runways: [name] })),
          notDrawn: [name],
        };
        for (const svg of [sideView(picture, SIZE), planView(picture, SIZE)]) {
          read(svg, (document) => expect(document.find('//s:script | //@style', NS)).toHaveLength(0));
        }
      }),
      { numRuns: 200 },
    );
  });
});

describe('text and colours', () => {
  test('is cut and wrapped by width, and no word is lost', () => {
    expect(shortened('Larkfield', 1000, 11)).toBe('Larkfield');
    expect(shortened('A very long name of a field', 60, 11)).toMatch(/…$/);
    expect(widthOf(shortened('A very long name of a field', 60, 11), 11)).toBeLessThanOrEqual(60);
    fc.assert(
      fc.property(
        fc.array(fc.stringMatching(/^[a-z]{1,20}$/), { maxLength: 20 }),
        fc.integer({ min: 1, max: 400 }),
        (all, width) => {
          expect(wrapped(all.join(' '), width, 11).join(' ')).toBe(all.join(' '));
        },
      ),
    );
  });

  test('a number is written as SVG takes it', () => {
    expect([1.005, -0.001, 1e21, Number.NaN, Number.POSITIVE_INFINITY].map(px)).toEqual([
      '1',
      '0',
      '1000000000',
      '0',
      '1000000000',
    ]);
  });

  test('on paper nothing but black, white and grey; on a screen no colour but by class', () => {
    for (const { picture } of samples) {
      const print = sideView(picture, SIZE) + planView(picture, SIZE);
      const colours = new Set([...print.matchAll(/(?:fill|stroke)="([^"]+)"/g)].map(([, colour]) => colour));
      for (const colour of colours) expect(colour).toMatch(/^(#000|#fff|#bbb|none|url\(#lw-[a-z-]+\))$/);
      const themed = sideView(picture, { ...SIZE, ink: 'themed' }) + planView(picture, { ...SIZE, ink: 'themed' });
      for (const [, colour] of themed.matchAll(/(?:fill|stroke)="([^"]+)"/g))
        expect(colour).toMatch(/^(currentColor|none|url\(#lw-[a-z-]+\))$/);
    }
  });

  test('the key explains every line that is there, however narrow', () => {
    const svg = textsOf(sideView(sample('Under the Sector'), { width: 260, height: 200 }));
    for (const entry of ['planned', 'lowest that arrives as asked', 'airspace entered', 'climb'])
      expect(svg).toContain(entry);
  });

  test('the style sheet has a rule for classes that are drawn', () => {
    for (const name of ['lw-path', 'lw-required', 'lw-ground', 'lw-airspace', 'lw-field-reach', 'lw-halo', 'lw-text'])
      expect(DRAWING_CSS).toContain(`.${name}`);
  });
});
