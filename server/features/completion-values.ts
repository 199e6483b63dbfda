/** Values that make sense where the caret stands: those that the flight asks for, those used before, choices, other ends. */
import { CompletionItemKind } from 'vscode-languageserver-types';
import { unitOf } from '../../grammar/units.ts';
import type { Slot } from '../../grammar/vocabulary.ts';
import { type Show, timeOfDay } from '../plan/show.ts';
import type { Expected } from './completion-expected.ts';
import { climbHeights, legSpeeds, liftRates, mostBallast, type Suggested, startHeights } from './completion-flight.ts';
import type { Draft } from './completion-item.ts';
import type { CompletionPlace } from './completion-place.ts';
import { writtenIn } from './completion-units.ts';

const value = (text: string, why: string): Suggested => ({ text, why });

const PERFORMANCES = [
  value('70 %', "of the polar's glide ratio"),
  value('80 %', "of the polar's glide ratio"),
  value('90 %', "of the polar's glide ratio"),
  value('100 %', 'the whole polar, with nothing in hand'),
  value('20:1', 'that glide ratio, whatever the polar says'),
];

/** Slots whose values tend to be those of the lines before, by entry, detail and slot. */
const AGAIN: ReadonlySet<string> = new Set([
  'task aircraft pilot',
  'task aircraft ballast',
  'task takeoff time',
  'weather date date',
  'weather thermals from',
  'weather thermals to',
]);

function again(place: CompletionPlace, key: string): Suggested[] {
  if (!AGAIN.has(key)) return [];
  const texts = new Set<string>();
  for (const { entry, id, slot, node } of writtenIn(place)) {
    if (`${entry} ${id} ${slot}` !== key) continue;
    if (node.kind === 'quantity' && node.number.value !== undefined && node.unit?.unit)
      texts.add(`${node.number.text} ${node.unit.unit.text}`);
    else if (node.kind === 'date' || (node.kind === 'time' && node.zoneMinutes !== undefined)) texts.add(node.text);
  }
  return [...texts]
    .slice(-5)
    .reverse()
    .map((text) => value(text, 'as above'));
}

/** Values worth writing in a slot, the best first. */
export function valuesFor(place: CompletionPlace, { form }: Expected, slot: Slot, with_: Show): Suggested[] {
  const key = `${place.placed.syntax.form?.keyword} ${form.id} ${slot.slot}`;
  switch (key) {
    case 'task turn speed':
    case 'task finish speed':
      return legSpeeds(place, with_);
    case 'task turn climb':
    case 'task finish climb':
    case 'task climb to rate':
      return liftRates(place, with_);
    case 'task climb to altitude':
      return climbHeights(place, with_);
    case 'task start altitude':
      return startHeights(place, with_);
    case 'task aircraft ballast':
      return [...mostBallast(place, with_), ...again(place, key)];
    case 'reserve performance share':
      return PERFORMANCES;
    default:
      return again(place, key);
  }
}

export function valueDraft({ text, why }: Suggested, goesOn: boolean, words = ''): Draft {
  const whole = words === '' ? text : `${words} ${text}`;
  return { label: whole, text: whole, kind: CompletionItemKind.Value, beside: why, detail: why, goesOn };
}

const SURFACES = ['grass', 'asphalt', 'concrete'];

/** The few words that a slot takes. */
export function choiceDrafts(place: CompletionPlace, { goesOn, form }: Expected, slot: Slot): Draft[] {
  if (slot.kind === 'unit') {
    return (slot.of ?? []).map((text) => ({
      label: text,
      text,
      kind: CompletionItemKind.Unit,
      beside: unitOf(text)?.words ?? '',
      goesOn,
    }));
  }
  const texts = slot.of ?? SURFACES;
  const used = new Set<string>();
  if (!slot.of) {
    for (const { id, slot: name, node } of writtenIn(place))
      if (id === form.id && name === slot.slot && node.kind === 'word') used.add(node.text);
  }
  return [...new Set([...texts, ...used])].map((text) => ({
    label: text,
    text,
    kind: CompletionItemKind.EnumMember,
    goesOn,
  }));
}

const OTHER_SIDE: Readonly<Record<string, string>> = { L: 'R', R: 'L', C: 'C' };

/** The other end of a runway, from the one that is typed. */
export function runwayDrafts({ run }: CompletionPlace, { goesOn }: Expected): Draft[] {
  const typed = /^(\d{1,2})([LCRlcr]?)\/?\d{0,2}$/.exec(run);
  const end = Number(typed?.[1]);
  if (!typed || !(end >= 1 && end <= 36)) return [];
  const letter = (typed[2] as string).toUpperCase();
  const two = (n: number) => String(n).padStart(2, '0');
  const other = `${two(end > 18 ? end - 18 : end + 18)}${OTHER_SIDE[letter] ?? ''}`;
  const text = `${two(end)}${letter}/${other}`;
  return [
    {
      label: text,
      text,
      filter: `${typed[1]}${typed[2]}/${other}`,
      kind: CompletionItemKind.Value,
      detail: 'both ends',
      goesOn,
    },
  ];
}

/** A time with its zone: those that the file uses, and UTC. */
export function timeDrafts(place: CompletionPlace, { goesOn }: Expected): Draft[] {
  const clock = /^(\d{1,2}:\d{2})(?:Z|[+-][\d:]*)?$/i.exec(place.run)?.[1];
  if (!clock) return [];
  const zones = new Set<string>();
  for (const { node } of writtenIn(place))
    if (node.kind === 'time' && node.zoneMinutes !== undefined)
      zones.add(timeOfDay(-node.zoneMinutes * 60, node.zoneMinutes).slice(5));
  return [...new Set([...zones, 'Z'])].map((zone) => {
    const text = `${clock.padStart(5, '0')}${zone}`;
    return {
      label: text,
      text,
      filter: `${clock}${zone}`,
      kind: CompletionItemKind.Value,
      detail: zone === 'Z' ? 'UTC' : `${zone} from UTC`,
      goesOn,
    };
  });
}

/** `32` becomes `32:1`. */
export function ratioDrafts({ run }: CompletionPlace, { goesOn }: Expected): Draft[] {
  const typed = /^(\d+(?:\.\d+)?)(?::1?)?$/.exec(run)?.[1];
  if (!typed) return [];
  const text = `${typed}:1`;
  return [{ label: text, text, kind: CompletionItemKind.Value, detail: 'a glide ratio', goesOn }];
}
