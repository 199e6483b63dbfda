/** What the tests open in each editor, what they do there, and what they expect to see. */

/** The plan that is opened, in a copy of samples/. It holds a leg home that arrives below the reserve. */
export const PLAN = 'plans/leg-home.taskplan';

export const TURNPOINTS = 'club/turnpoints.taskplan';

export const LANGUAGE = 'taskplan';

/** The finding that the plan holds on purpose. */
export const FINDING = {
  severity: 'error',
  marked: /^finish +Larkfield/,
  message: /below reserve/,
  code: 'below-reserve',
} as const;

/** Words whose colours are looked at. */
export const COLOURED = [
  { spot: { line: '# Shows the leg', word: 'Shows' }, colour: 'comment' },
  { spot: { line: '  finish', word: 'finish' }, colour: 'keyword' },
  { spot: { line: 'task "Late Home"', word: 'Late' }, colour: 'string' },
] as const;

/** What is typed on a new line below the last leg but one, and what is said of it. */
export const MISTAKE = { below: 'turn      "Corran Dam"', text: 'trun Nowhere', marked: /trun/ } as const;

/** What hovering over the leg home says. */
export const HOVER = { spot: { line: '  finish', word: 'finish' }, says: /height required/ } as const;

/** A glide budget over the leg home. */
export const LENS = /\d ft/;

interface Completion {
  readonly typed: string;
  readonly offers: readonly string[];
  readonly take: string;
  readonly line: string;
  /** The name has to stand in quotes, and a part of it is typed. */
  readonly quotes?: true;
}

/** What is typed on a new line of the itinerary, what may follow, and what the line is when one of it is taken. */
export const COMPLETIONS: readonly Completion[] = [
  { typed: 'turn ', offers: ['Withy Bridge', 'Ashmoor'], take: 'Withy Bridge', line: 'turn "Withy Bridge"' },
  {
    quotes: true,
    typed: 'turn Wi',
    offers: ['Withy Bridge', 'Pike Weir'],
    take: 'Withy Bridge',
    line: 'turn "Withy Bridge"',
  },
  {
    quotes: true,
    typed: 'turn "Wi',
    offers: ['Withy Bridge', 'Pike Weir'],
    take: 'Withy Bridge',
    line: 'turn "Withy Bridge"',
  },
  { typed: 'turn As', offers: ['Ashmoor'], take: 'Ashmoor', line: 'turn Ashmoor' },
  { typed: 'finish ', offers: ['Larkfield', 'Cobblemere'], take: 'Larkfield', line: 'finish Larkfield' },
];

/** Where a turnpoint is used, and the line that defines it. */
export const DEFINITION = {
  spot: { line: 'turn      "Withy Bridge"', word: 'Withy' },
  file: TURNPOINTS,
  line: /^turnpoint "Withy Bridge"/,
} as const;

/** Where a field is used, and what the list of its uses must hold. */
export const REFERENCES = {
  spot: { line: 'turn      Ashmoor', word: 'Ashmoor' },
  hold: [/leg-home/, /too-far/, /strong-headwind/],
} as const;

/** A slip on a new line of the itinerary, and the line when the first fix that is offered is taken. */
export const FIX = {
  below: MISTAKE.below,
  typed: 'turn      Ashmor',
  word: 'Ashmor',
  line: 'turn      Ashmoor',
} as const;

/** Names that are changed where the plan uses them: one keeps its quotes, one needs them from now on. */
export const RENAMES = [
  { spot: { line: 'turn      "Withy Bridge"', word: 'Withy' }, from: '"Withy Bridge"', to: 'Withy Ford' },
  { spot: { line: 'turn      Ashmoor', word: 'Ashmoor' }, from: 'Ashmoor', to: 'Ash Moor' },
] as const;
