import fc from 'fast-check';
import { expect, test } from 'vitest';
import { parseFile } from '../../grammar/file.ts';
import { formatFile } from '../../grammar/format.ts';
import { choicesOf, faultOfAnswer } from '../../server/features/new-text.ts';
import { newClubFiles } from '../../server/features/new-text-club.ts';
import { newPlanText, type PlanAnswers } from '../../server/features/new-text-plan.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile, type Workspace } from '../../server/plan/workspace.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import type { Finding } from '../../server/rules/rule.ts';
import { check } from '../../server/rules/run.ts';
import { sampleWorkspace } from '../features/marked.ts';

const URI = 'file:///samples/plans/new.taskplan';
const club = (file: string, name: string) => ({ name, uri: `file:///samples/club/${file}.taskplan` });

const ANSWERS: PlanAnswers = {
  name: 'Two Lakes',
  aircraft: club('fleet', 'Finch'),
  pilot: '82 kg',
  weather: club('weather', 'Westerly'),
  reserve: club('rules', 'Training'),
  limits: undefined,
  takeoff: undefined,
  start: club('fields', 'Larkfield'),
  height: '3200 ft MSL',
  turns: [club('turnpoints', 'Withy Bridge'), club('turnpoints', 'Corran Dam')],
  finish: club('fields', 'Larkfield'),
};

function textOf(workspace: Workspace, answers: PlanAnswers): string {
  const made = newPlanText(workspace, URI, answers);
  if ('refused' in made) throw new Error(made.refused);
  return made.text;
}

/** The findings of a text as if it lay in the workspace under a path. */
function findingsIn(workspace: Workspace, uri: string, text: string): Finding[] {
  return check(workspace, understand(workspace, setFile(workspace, uri, text)), undefined, (code, error) => {
    throw new Error(code, { cause: error });
  });
}

const errors = (findings: readonly Finding[]) => findings.filter(({ severity }) => severity === 'error');
const formatted = (text: string) => formatFile(parseFile(text));

test('a new plan is short, in the standard layout, and its climbs are what the legs need', () => {
  const { workspace } = sampleWorkspace();
  const text = textOf(workspace, ANSWERS);
  expect(text).toMatchInlineSnapshot(`
    "use "../club/fields.taskplan"
    use "../club/fleet.taskplan"
    use "../club/rules.taskplan"
    use "../club/turnpoints.taskplan"
    use "../club/weather.taskplan"

    task "Two Lakes"
      aircraft  Finch with pilot 82 kg
      weather   Westerly
      reserve   Training
      # Each climb is the least that its leg needs, with a little to spare. Take more if you like.
      start     Larkfield at 3200 ft MSL
      climb     to 4500 ft MSL
      turn      "Withy Bridge"
      climb     to 3700 ft MSL
      turn      "Corran Dam"
      climb     to 5200 ft MSL
      finish    Larkfield
    "
  `);
  expect(formatted(text)).toEqual({ text });
  const findings = findingsIn(workspace, URI, text);
  expect(errors(findings)).toEqual([]);
  expect(findings.filter(({ code }) => code === 'thin-margin')).toEqual([]);
});

test('a start in metres makes climbs in metres', () => {
  const { workspace } = sampleWorkspace();
  const text = textOf(workspace, { ...ANSWERS, height: '1000 m MSL' });
  expect(text.match(/climb +to .*/g)).toEqual([
    'climb     to 1350 m MSL',
    'climb     to 1150 m MSL',
    'climb     to 1600 m MSL',
  ]);
  expect(errors(findingsIn(workspace, URI, text))).toEqual([]);
});

test('no climb leads above the top of the lift', () => {
  const { workspace } = sampleWorkspace();
  const far = { ...ANSWERS, turns: [club('fields', 'Saltreach')] };
  const text = textOf(workspace, far);
  expect(text.match(/climb +to .*/g)).toEqual(['climb     to 6000 ft MSL', 'climb     to 6000 ft MSL']);
  // What the day cannot give is said, not written around.
  expect(text).toContain('# The climbs lead as high as the lift of the day. A leg');
  expect(errors(findingsIn(workspace, URI, text)).map(({ code }) => code)).toContain('below-reserve');
});

test('a day without a forecast says so, and is filled in by taking signs away', () => {
  const { workspace } = sampleWorkspace();
  const text = textOf(workspace, { ...ANSWERS, weather: { date: '2026-06-20' } });
  expect(text).toMatchInlineSnapshot(`
    "use "../club/fields.taskplan"
    use "../club/fleet.taskplan"
    use "../club/rules.taskplan"
    use "../club/turnpoints.taskplan"

    weather Saturday
      date        2026-06-20
      note        "No forecast yet: until the lines below are filled in, calm standard air is assumed."
      # Fill in, and take the # away:
      # qnh         … hPa
      # temperature … °C at … ft MSL
      # wind        surface from …° at … kt
      # wind        3000 ft MSL from …° at … kt
      # wind        6000 ft MSL from …° at … kt
      # lift        … kt to … ft MSL

    task "Two Lakes"
      aircraft  Finch with pilot 82 kg
      weather   Saturday
      reserve   Training
      # Each climb is the least that its leg needs, with a little to spare. Take more if you like.
      start     Larkfield at 3200 ft MSL
      climb     to 4700 ft MSL
      turn      "Withy Bridge"
      climb     to 4100 ft MSL
      turn      "Corran Dam"
      climb     to 4400 ft MSL
      finish    Larkfield
    "
  `);
  expect(formatted(text)).toEqual({ text });
  const findings = findingsIn(workspace, URI, text);
  expect(errors(findings)).toEqual([]);
  expect(findings.filter(({ code }) => code === 'standard-assumed').map(({ severity }) => severity)).toEqual([
    'warning',
  ]);
  const values: [RegExp, string][] = [
    [/# qnh( +)… hPa/, 'qnh$1 1018 hPa'],
    [/# temperature … °C at … ft MSL/, 'temperature 22 °C at 600 ft MSL'],
    [/# wind( +)surface from …° at … kt/, 'wind$1surface from 230° at 8 kt'],
    [/# wind( +)3000 ft MSL from …° at … kt/, 'wind$13000 ft MSL from 240° at 12 kt'],
    [/# wind( +)6000 ft MSL from …° at … kt/, 'wind$16000 ft MSL from 250° at 15 kt'],
    [/# lift( +)… kt to … ft MSL/, 'lift$13 kt to 6000 ft MSL'],
  ];
  let filled = text;
  for (const [line, value] of values) {
    expect(filled).toMatch(line);
    filled = filled.replace(line, value);
  }
  expect(findingsIn(workspace, URI, filled).filter(({ code }) => code === 'standard-assumed')).toEqual([]);
});

test('the weather of another plan is copied, since using that plan would bring its task in', () => {
  const { workspace } = sampleWorkspace();
  const day = { name: 'Saturday', uri: 'file:///samples/plans/leg-home.taskplan' };
  const text = textOf(workspace, { ...ANSWERS, weather: day });
  expect(text).not.toContain('leg-home');
  expect(text).toContain('weather Saturday\n  date        2026-06-13\n  qnh         1016 hPa\n');
  expect(errors(findingsIn(workspace, URI, text))).toEqual([]);
});

test('what a workspace does not have is left to be filled in, and said', () => {
  const workspace = createWorkspace(['file:///samples']);
  const uri = 'file:///samples/fields.taskplan';
  setFile(workspace, uri, 'field Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m\n');
  const home = { name: 'Larkfield', uri };
  const text = textOf(workspace, {
    ...ANSWERS,
    aircraft: undefined,
    pilot: undefined,
    weather: { date: '2026-06-20' },
    reserve: undefined,
    start: home,
    turns: [],
    finish: home,
  });
  expect(text).toContain('  # aircraft … with pilot … kg: fill in');
  expect(text).toContain('  # reserve …: fill in');
  expect(formatted(text)).toEqual({ text });
  // The task lacks its aircraft: that is what the pilot must fill in.
  expect(errors(findingsIn(workspace, URI, text)).map(({ code }) => code)).toEqual(['detail-missing']);
});

test('an answer that cannot be written, and a choice that is gone, are refused in words', () => {
  const { workspace } = sampleWorkspace();
  const refused = (answers: Partial<PlanAnswers>) => newPlanText(workspace, URI, { ...ANSWERS, ...answers });
  expect(refused({ height: '3200 ft' })).toMatchObject({ refused: expect.stringContaining('the height: ') });
  expect(refused({ pilot: '82 kg\n  climb to 9000 ft MSL' })).toMatchObject({ refused: expect.any(String) });
  expect(refused({ name: 'a"b' })).toMatchObject({ refused: expect.stringContaining('the name: ') });
  expect(refused({ weather: { date: '2026-02-30' } })).toMatchObject({
    refused: expect.stringContaining('the date: '),
  });
  expect(refused({ finish: club('fields', 'Gone') })).toEqual({ refused: 'Gone is no longer where it was.' });
  expect(refused({ start: { name: 'Larkfield', uri: 'file:///elsewhere/x.taskplan' } })).toMatchObject({
    refused: expect.any(String),
  });
});

test('answers are held against the language', () => {
  expect(faultOfAnswer('height', '3200 ft MSL')).toBeUndefined();
  expect(faultOfAnswer('height', 'FL65')).toBeUndefined();
  expect(faultOfAnswer('height', '3200')).toMatch(/unit/);
  expect(faultOfAnswer('height', '3200 ft')).toMatch(/MSL/);
  expect(faultOfAnswer('mass', '82 kg')).toBeUndefined();
  expect(faultOfAnswer('mass', '82 ft')).toMatch(/mass/);
  expect(faultOfAnswer('position', '47.2031 N 19.4410 E')).toBeUndefined();
  expect(faultOfAnswer('position', '97.2 N 19.4 E')).toMatch(/latitude/);
  expect(faultOfAnswer('elevation', '190 m')).toBeUndefined();
  expect(faultOfAnswer('elevation', 'high')).toBeDefined();
  expect(faultOfAnswer('runway', '18/36 900 m surface grass')).toBeUndefined();
  expect(faultOfAnswer('runway', '18/37 900 m')).toBeDefined();
  expect(faultOfAnswer('date', '2026-06-13')).toBeUndefined();
  expect(faultOfAnswer('date', '13.6.2026')).toBeDefined();
  expect(faultOfAnswer('name', 'Two Lakes')).toBeUndefined();
  expect(faultOfAnswer('name', 'task')).toBeUndefined();
  expect(faultOfAnswer('name', ' ')).toBe('Nothing is written.');
  expect(faultOfAnswer('height', '3200 ft MSL # so be it')).toBeDefined();
});

test('a name that is any text at all is refused, or written and read back as it is', () => {
  const workspace = createWorkspace(['file:///samples']);
  const uri = 'file:///samples/club.taskplan';
  setFile(workspace, uri, EXAMPLE_CLUB);
  const here = (name: string) => ({ name, uri });
  const answers = {
    ...ANSWERS,
    aircraft: undefined, // so that no case waits for glides
    weather: here('Calm'),
    reserve: here('Training'),
    start: here('Larkfield'),
    turns: [],
    finish: here('Ashmoor'),
  };
  fc.assert(
    fc.property(fc.string({ unit: 'binary', maxLength: 30 }), (name) => {
      const made = newPlanText(workspace, URI, { ...answers, name });
      if ('refused' in made) return;
      const [task] = understand(workspace, setFile(workspace, URI, made.text)).tasks;
      expect(task?.task.name).toBe(name.trim().normalize('NFC'));
      expect(formatted(made.text)).toEqual(made);
    }),
    { numRuns: 1000 },
  );
});

test('whatever is chosen, the plan is in the standard layout and no error is of its making', () => {
  const { workspace } = sampleWorkspace();
  const choices = choicesOf(workspace);
  const one = <T>(from: readonly T[]) => fc.constantFrom(...from);
  const points = [...choices.fields, ...choices.turnpoints];
  // Of the choice itself: no text could mend them.
  const chosenSo = new Set([
    'below-reserve',
    'below-turn-height',
    'reaches-ground',
    'no-headway',
    'overweight',
    'pilot-weight',
    'value-out-of-sense',
    'enters-airspace',
    'below-clearance',
    'crosswind',
    'after-sunset',
    'finish-not-landable',
  ]);
  fc.assert(
    fc.property(
      one(choices.aircraft),
      one(choices.weather.filter(({ inPlan }) => !inPlan)),
      one(choices.reserves),
      one(choices.fields),
      fc.array(one(points), { maxLength: 4 }),
      (aircraft, weather, reserve, start, turns) => {
        const text = textOf(workspace, { ...ANSWERS, aircraft, weather, reserve, start, turns, finish: start });
        expect(formatted(text)).toEqual({ text });
        const own = errors(findingsIn(workspace, URI, text)).filter(({ code }) => !chosenSo.has(code));
        expect(own.map(({ code, message }) => `${code}: ${message}`)).toEqual([]);
      },
    ),
    { numRuns: 40 },
  );
});

test('the choices: where plans start comes first, shared files before plans, by distance when asked', () => {
  const { workspace } = sampleWorkspace();
  const choices = choicesOf(workspace);
  expect(choices.fields[0]).toMatchObject({ name: 'Larkfield', file: 'club/fields.taskplan', inPlan: false });
  expect(choices.folder).toBe('file:///samples/plans');
  const firstInPlan = choices.weather.findIndex(({ inPlan }) => inPlan);
  expect(choices.weather.slice(firstInPlan).every(({ inPlan }) => inPlan)).toBe(true);
  expect(choices.aircraft.find(({ name }) => name === 'Finch')?.about).toMatch(
    /^best glide 3\d\.\d:1 · pilot 55 kg to 110 kg$/,
  );
  const near = choicesOf(workspace, club('fields', 'Larkfield'));
  expect(near.fields[0]?.name).toBe('Larkfield');
  expect(near.fields[1]).toMatchObject({
    name: 'Mossbank',
    about: expect.stringMatching(/^4\.\d NM, 0\d\d° · 577 ft MSL/),
  });
});

test('a new club: each file in the standard layout, and only the aircraft is left to be filled in', () => {
  const made = newClubFiles({
    home: 'Larkfield Down',
    position: '47.2031 N 19.4410 E',
    elevation: '190 m',
    runway: '18/36 900 m surface grass',
  });
  if ('refused' in made) throw new Error(made.refused);
  const workspace = createWorkspace(['file:///club-of-ours']);
  const uriOf = (path: string) => `file:///club-of-ours/${path}`;
  for (const { path, text } of made.files) setFile(workspace, uriOf(path), text);
  const found = made.files.map(({ path, text }) => {
    expect(formatted(text)).toEqual({ text });
    return [path, [...new Set(errors(findingsIn(workspace, uriOf(path), text)).map(({ code }) => code))]];
  });
  expect(found).toEqual([
    ['club/fields.taskplan', []],
    ['club/turnpoints.taskplan', []],
    ['club/fleet.taskplan', ['value-out-of-sense']],
    ['club/rules.taskplan', []],
  ]);
  expect(made.files.map(({ text }) => text).join('')).toMatchInlineSnapshot(`
    "# The fields that the club knows, the home field first. Every field counts as a place to land, so write down only
    # those that somebody has looked at: elevation, runway and frequency from the notice of the field itself.

    field "Larkfield Down" at 47.2031 N 19.4410 E
      elevation 190 m
      runway    18/36 900 m surface grass
      note      "Home."
    # Places to fly over, not to land at. A turnpoint looks like this, without the #:
    #
    # turnpoint "Name" at 0.0000 N 0.0000 E
    #   elevation 0 m
    #
    # \`legwise import FILE\` makes fields and turnpoints out of GeoJSON, GPX or CSV.
    # The club's gliders, each figure from the flight manual, the placards and the weighing report of that very glider.
    # Measured points of the polar (\`polar 60 kt sink 2.05 kt\`, three or more) may stand in place of \`best glide\` and
    # \`minimum sink\`. Speeds are indicated.

    aircraft Glider
      note          "Fill in every line. Until then nothing is computed with this glider, and each line is a finding."
      best glide    0:1 at 0 kt
      minimum sink  0 kt at 0 kt
      polar mass    0 kg
      empty mass    0 kg
      maximum mass  0 kg
      vs            0 kt
      vne           0 kt
      # pilot     … kg to … kg
      # va        … kt
      # vno       … kt
      # crosswind … kt
      # landing   … m
    # What the club asks of a plan. The figures are a proposal: the instructors agree them before anyone flies by them.
    use "fields.taskplan"

    reserve Training
      arrive      1000 ft AGL
      turn        1500 ft AGL
      clear       500 ft
      performance 70 %
      altimeter   150 ft
      note        "A proposal, common practice: not yet agreed by the club."

    limits Solo
      field in glide
      within    12 NM of "Larkfield Down"
      land      60 min before sunset
      reserve   at least Training
      note      "A proposal, common practice: not yet agreed by the club."
    "
  `);
});

test('nothing is computed with the aircraft of a new club before its figures are filled in', () => {
  const made = newClubFiles({ home: 'Home', position: '47.2 N 19.4 E', elevation: '190 m', runway: undefined });
  if ('refused' in made) throw new Error(made.refused);
  const workspace = createWorkspace(['file:///c']);
  for (const { path, text } of made.files) setFile(workspace, `file:///c/${path}`, text);
  const uri = 'file:///c/plans/first.taskplan';
  const home = { name: 'Home', uri: 'file:///c/club/fields.taskplan' };
  const text = newPlanText(workspace, uri, {
    ...ANSWERS,
    aircraft: { name: 'Glider', uri: 'file:///c/club/fleet.taskplan' },
    weather: { date: '2026-06-13' },
    reserve: { name: 'Training', uri: 'file:///c/club/rules.taskplan' },
    start: home,
    turns: [],
    finish: home,
  });
  if ('refused' in text) throw new Error(text.refused);
  const [task] = understand(workspace, setFile(workspace, uri, text.text)).tasks;
  expect(task?.legs.map(({ result }) => result)).toEqual([undefined]);
});

test('a club whose answers cannot be written is refused', () => {
  const answers = { home: 'Home', position: '47.2 N 19.4 E', elevation: '190 m', runway: undefined };
  expect(newClubFiles({ ...answers, position: '47.2, 19.4' })).toMatchObject({
    refused: expect.stringContaining('the position: '),
  });
  expect(newClubFiles({ ...answers, home: 'a\nb' })).toMatchObject({ refused: expect.any(String) });
});

test('where limits ask for a field in reach everywhere, climbs lead as high as that takes, and no higher', () => {
  const { workspace } = sampleWorkspace();
  // Over Tallow Cross, at the least height that arrives there with what is asked, no field is in reach.
  const turns = [club('turnpoints', 'Tallow Cross')];
  const answers = { ...ANSWERS, turns, weather: club('weather', 'Quiet'), takeoff: '12:00Z' };
  const text = textOf(workspace, { ...answers, limits: club('rules', 'Solo') });
  expect(formatted(text)).toEqual({ text });
  expect(findingsIn(workspace, URI, text)).toEqual([]);
  const [first = ''] = text.match(/climb +to [\d.]+ ft MSL/) ?? [];
  const lower = first.replace(/\d+(?= ft)/, (height) => String(Number(height) - 100));
  expect(findingsIn(workspace, URI, text.replace(first, lower)).map(({ code }) => code)).toEqual([
    'limit-field-in-glide',
  ]);
});

test('what no climb of the day mends is told, and no climb is made for it', () => {
  const { workspace } = sampleWorkspace();
  const answers = { ...ANSWERS, turns: [club('turnpoints', 'Tallow Cross')], limits: club('rules', 'Solo') };
  const text = textOf(workspace, { ...answers, takeoff: '12:00Z' });
  expect(findingsIn(workspace, URI, text).map(({ code }) => code)).toEqual(['limit-field-in-glide']);
  expect(text.match(/climb +to .*/g)).toEqual(['climb     to 5500 ft MSL', 'climb     to 3700 ft MSL']);
});

test('without a take-off a limit on the time of landing says that it is not checked', () => {
  const { workspace } = sampleWorkspace();
  const text = textOf(workspace, { ...ANSWERS, limits: club('rules', 'Solo') });
  expect(findingsIn(workspace, URI, text).map(({ code }) => code)).toEqual(['limit-landing-before-sunset']);
  expect(faultOfAnswer('time', '12:00Z')).toBeUndefined();
  expect(faultOfAnswer('time', 'noon')).toBeDefined();
});
