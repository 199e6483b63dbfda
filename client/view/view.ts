/// <reference lib="dom" />
/// <reference lib="dom.iterable" />
/** The flight view as it is seen: what is drawn, the crosshair and its numbers, the table, and what is said aloud. */
import type { FlightViewCaret, FlightViewTask } from '../../server/features/flight-view.ts';
import { LEG_HEADS } from '../../server/plan/budget-rows.ts';
import type { Picture, PictureReach } from '../../server/plan/picture-data.ts';
import { Drawings } from './drawings.ts';
import { element, matchChildren, setText } from './elements.ts';
import type { Part, PartHost, Shown } from './parts.ts';
import { type FromView, toView } from './protocol.ts';
import { type FlightPlace, isReachOf, legOf, type ReadoutItem, readout, readoutText } from './readout.ts';
import { along, firstPlace, flownTo, lastPlace, legBeside, stepOf } from './steps.ts';
import { FindingList, LegTable } from './tables.ts';

/** What the view has of the editor around it. */
export interface Surroundings {
  post(message: FromView): void;
  /** Kept across hiding the panel and reloading the window. */
  getState(): unknown;
  setState(state: unknown): void;
}

/** What is kept. */
interface Kept {
  readonly uri?: string;
  readonly place?: FlightPlace;
  readonly parts: Readonly<Record<string, unknown>>;
}

/** A change is said aloud once nothing else has changed for this long, ms: not after every keystroke. */
const QUIET_MS = 700;

const isObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

function keptOf(state: unknown): Kept {
  if (!isObject(state)) return { parts: {} };
  const { uri, place, parts } = state;
  const isPlace = isObject(place) && typeof place['leg'] === 'number' && typeof place['xM'] === 'number';
  return {
    ...(typeof uri === 'string' ? { uri } : {}),
    ...(isPlace ? { place: { leg: place['leg'] as number, xM: place['xM'] as number } } : {}),
    parts: isObject(parts) ? parts : {},
  };
}

export class View {
  readonly #around: Surroundings;
  readonly #drawings: Drawings;
  readonly #table: LegTable;
  readonly #findings: FindingList;
  readonly #pick = element('select', { 'aria-label': 'Task' });
  readonly #title = element('h1');
  readonly #totals = element('p', { class: 'totals' });
  readonly #least = element('p', { class: 'least' });
  readonly #note = element('p', { class: 'note', hidden: true });
  readonly #waiting = element('p', { class: 'waiting', role: 'status' });
  readonly #words = element('p', { class: 'words', role: 'status' });
  readonly #numbers = element('dl', { class: 'readout' });
  readonly #made = element('p', { class: 'made' });
  readonly #left = element('ul', { class: 'aloud' });
  readonly #caution = element('p', { class: 'caution' });
  readonly #flight = element('div', { class: 'flight', hidden: true });
  /** Said by a screen reader, and seen by nobody. */
  readonly #live = element('p', { class: 'aloud', 'aria-live': 'polite' });

  #shown: Omit<Shown, 'task' | 'leg'> | undefined;
  #task = 0;
  #caret: FlightViewCaret = { task: null, leg: null, reach: null };
  #instead: { readonly task: number; readonly flight: FlightViewTask; readonly note: string } | undefined;
  /** The crosshair: where the pointer is, else where the keyboard has put it. */
  #pointer: FlightPlace | undefined;
  #placed: FlightPlace | undefined;
  #reach: PictureReach | null | undefined;
  #reachOf: FlightPlace | undefined;
  #reachId: string | undefined;
  #asks = 0;
  #isAsking = false;
  #kept: Kept;
  #isDrawing = false;
  #quiet: ReturnType<typeof setTimeout> | undefined;
  /** The margins that were said or seen last, by task and leg. */
  #margins = new Map<string, string>();
  readonly #partMessages = new Map<string, (body: unknown) => void>();
  readonly #onShown: ((shown: Shown | undefined) => void)[] = [];

  constructor(root: HTMLElement, around: Surroundings) {
    this.#around = around;
    this.#kept = keptOf(around.getState());
    this.#placed = this.#kept.place;
    const taken = (line: number, focus: boolean) => this.#select(line, focus);
    this.#table = new LegTable(taken);
    this.#findings = new FindingList(taken);
    this.#drawings = new Drawings({
      onPoint: (place) => this.#point(place),
      onTake: (place, line, focus) => this.#take(place, line, focus),
      onKey: (key, isShift) => this.#key(key, isShift),
      onSize: () => this.#later(),
    });
    this.#flight.append(
      element('header', {}, this.#pick, this.#title, this.#totals, this.#least),
      this.#note,
      this.#waiting,
      element('div', { class: 'drawings' }, this.#drawings.side, this.#numbers, this.#drawings.plan),
      this.#left,
      this.#table.root,
      this.#findings.root,
      this.#made,
      this.#caution,
    );
    root.append(this.#words, this.#flight, this.#live);
    setText(this.#words, 'Waiting for the language server.');
    this.#pick.addEventListener('change', () => this.#choose(this.#pick.selectedIndex));
  }

  /** Lets a part build itself into its section. */
  mount(name: string, section: HTMLElement, part: Part): void {
    const host: PartHost = {
      post: (body) => this.#around.post({ type: 'part', part: name, body }),
      onMessage: (told) => void this.#partMessages.set(name, told),
      onShown: (told) => {
        this.#onShown.push(told);
        told(this.#now());
      },
      showInstead: (instead) => {
        this.#instead = instead;
        this.#later();
      },
      kept: this.#kept.parts[name],
      keep: (state) => this.#keep({ parts: { ...this.#kept.parts, [name]: state } }),
      say: (words) => this.#say(words),
    };
    part(section, host);
  }

  /** Takes a message from the extension; one that is none is dropped. */
  onMessage(data: unknown): void {
    const message = toView(data);
    switch (message?.type) {
      case 'flight': {
        const { uri, file, id, tasks, caret } = message;
        const isOther = this.#shown?.uri !== uri;
        if (isOther) {
          // The place kept is of the plan that was kept with it.
          if (this.#shown || this.#kept.uri !== uri) this.#placed = undefined;
          this.#instead = undefined;
          this.#margins.clear();
        }
        this.#pointer = undefined;
        this.#isAsking = false;
        this.#shown = { uri, file, id, tasks };
        this.#follow(caret, isOther);
        this.#keep({ uri });
        this.#tell();
        return;
      }
      case 'caret':
        if (message.id === this.#shown?.id) this.#follow(message.caret, false);
        this.#tell();
        return;
      case 'words':
        this.#shown = undefined;
        this.#pointer = undefined;
        setText(this.#words, message.text);
        this.#later();
        this.#tell();
        return;
      case 'waiting':
        setText(this.#waiting, message.text ?? '');
        return;
      case 'reach':
        this.#isAsking = false;
        if (message.ask === this.#asks) this.#reach = message.reach;
        this.#later();
        return;
      case 'part':
        this.#partMessages.get(message.part)?.(message.body);
    }
  }

  #now(): Shown | undefined {
    return (
      this.#shown && { ...this.#shown, task: this.#task, leg: this.#caret.task === this.#task ? this.#caret.leg : null }
    );
  }

  #tell(): void {
    for (const told of this.#onShown) told(this.#now());
  }

  #keep(more: Partial<Kept>): void {
    this.#kept = { ...this.#kept, ...more };
    const { place, ...rest } = this.#kept;
    this.#around.setState(this.#placed ? { ...rest, place: this.#placed } : rest);
  }

  /** The caret goes to another task: so does the view. A task that was picked stays while the caret stays in its own. */
  #follow(caret: FlightViewCaret, isOther: boolean): void {
    const tasks = this.#shown?.tasks ?? [];
    if (caret.task !== null && (isOther || caret.task !== this.#caret.task)) {
      if (caret.task !== this.#task) this.#placed = undefined;
      this.#task = caret.task;
    }
    if (isOther && caret.task === null) this.#task = 0;
    // The crosshair stays where it was put until the caret goes to another leg.
    const hasMoved = caret.leg !== this.#caret.leg || caret.task !== this.#caret.task;
    if (hasMoved && caret.leg !== null && caret.leg !== this.#placed?.leg) this.#placed = undefined;
    if (this.#task >= tasks.length) this.#task = Math.max(0, tasks.length - 1);
    this.#caret = caret;
    setText(this.#waiting, '');
    this.#draw(); // in this frame: what the text became has been on its way long enough
  }

  #choose(task: number): void {
    this.#task = task;
    this.#placed = undefined;
    this.#pointer = undefined;
    const line = this.#shown?.tasks[task]?.picture.lines.first;
    if (line !== undefined) this.#select(line, false);
    this.#later();
    this.#tell();
  }

  #select(line: number, focus: boolean): void {
    if (this.#shown) this.#around.post({ type: 'select', uri: this.#shown.uri, line, focus });
  }

  #flightShown(): FlightViewTask | undefined {
    return this.#instead?.task === this.#task && this.#shown ? this.#instead.flight : this.#shown?.tasks[this.#task];
  }

  #point(place: FlightPlace | undefined): void {
    if (place?.leg === this.#pointer?.leg && place?.xM === this.#pointer?.xM) return;
    this.#pointer = place;
    this.#later();
  }

  /** A leg was clicked, or its climb, of which the line is known. */
  #take(place: FlightPlace, line: number | undefined, focus: boolean): void {
    const flight = this.#flightShown();
    const leg = flight && legOf(flight.picture, place.leg);
    this.#placed = place;
    this.#keep({});
    if (leg) this.#select(line ?? leg.lines.last, focus);
    this.#later();
  }

  #place(): FlightPlace | undefined {
    if (this.#pointer ?? this.#placed) return this.#pointer ?? this.#placed;
    return this.#caret.task === this.#task && this.#caret.reach ? this.#caret.reach : undefined;
  }

  /** Whether a key was taken. */
  #key(key: string, isShift: boolean): boolean {
    const flight = this.#flightShown();
    if (!flight) return false;
    const { picture } = flight;
    const place = this.#place() ?? firstPlace(picture);
    if (!place) return false;
    const step = stepOf(picture) * (isShift ? 5 : 1);
    const to = {
      ArrowRight: () => along(picture, place, step),
      ArrowLeft: () => along(picture, place, -step),
      ArrowDown: () => legBeside(picture, place, 1),
      PageDown: () => legBeside(picture, place, 1),
      ArrowUp: () => legBeside(picture, place, -1),
      PageUp: () => legBeside(picture, place, -1),
      Home: () => firstPlace(picture),
      End: () => lastPlace(picture),
    }[key];
    if (to) {
      this.#pointer = undefined;
      this.#placed = to();
    } else if (key === 'Escape') {
      this.#pointer = undefined;
      this.#placed = undefined;
    } else if (key === 'Enter') {
      this.#take(place, undefined, true);
    } else return false;
    this.#keep({});
    this.#later();
    return true;
  }

  /** Draws in the editor's next frame, once, whatever changes until then. */
  #later(): void {
    if (this.#isDrawing) return;
    this.#isDrawing = true;
    requestAnimationFrame(() => {
      this.#isDrawing = false;
      this.#draw();
    });
  }

  #draw(): void {
    const flight = this.#flightShown();
    this.#flight.hidden = !flight;
    this.#words.hidden = flight !== undefined;
    if (!flight || !this.#shown) return;
    setText(this.#words, '');
    const { picture } = flight;
    const lit = this.#caret.task === this.#task ? this.#caret.leg : null;
    this.#drawHead(flight);
    const place = this.#place();
    const isOnIt = place && legOf(picture, place.leg) !== undefined;
    const reach = isOnIt ? this.#reachAt(place) : undefined;
    const items = isOnIt ? readout(picture, place, reach) : [];
    this.#drawNumbers(items);
    this.#drawings.show(picture, {
      lit: lit ?? (this.#pointer ?? this.#placed)?.leg ?? null,
      place: isOnIt ? place : undefined,
      reach: reach ?? null,
      text: items.length > 0 ? readoutText(items) : 'no place',
      flownM: isOnIt ? flownTo(picture, place) : null,
    });
    this.#table.show(picture, lit);
    this.#findings.show(flight.findings, lit);
    this.#announce(picture);
  }

  #drawHead(flight: FlightViewTask): void {
    const { picture, totals, least, madeWith } = flight;
    const tasks = this.#shown?.tasks ?? [];
    this.#pick.hidden = tasks.length < 2;
    this.#title.classList.toggle('aloud', tasks.length > 1);
    matchChildren(
      this.#pick,
      tasks,
      () => element('option'),
      (option, one, i) => setText(option, one.picture.task || `task ${i + 1}`),
    );
    if (this.#pick.selectedIndex !== this.#task) this.#pick.selectedIndex = this.#task;
    setText(this.#title, picture.task || 'task without a name');
    setText(this.#totals, totals);
    setText(this.#least, least === null ? 'no leg has a margin' : `least margin ${least}`);
    this.#least.classList.toggle('short', (picture.least?.marginM ?? 0) < 0);
    const note = this.#instead?.task === this.#task ? this.#instead.note : '';
    this.#note.hidden = note === '';
    setText(this.#note, note);
    setText(this.#made, madeWith);
    setText(this.#caution, picture.caution);
    this.#left.hidden = picture.notDrawn.length === 0;
    matchChildren(
      this.#left,
      picture.notDrawn,
      () => element('li'),
      (item, words) => setText(item, words),
    );
  }

  #drawNumbers(items: readonly ReadoutItem[]): void {
    const shown =
      items.length > 0 ? items : [{ what: 'place', value: 'point at a leg, or go along it with the arrow keys' }];
    matchChildren(
      this.#numbers,
      shown,
      () => element('div', {}, element('dt'), element('dd')),
      (group, { what, value, isBad }) => {
        setText(group.querySelector('dt') as Element, what);
        setText(group.querySelector('dd') as Element, value);
        group.classList.toggle('short', isBad === true);
      },
    );
  }

  /** The fields in reach from a place: known with the caret, or asked for; undefined until the answer is there. */
  #reachAt(place: FlightPlace): PictureReach | null | undefined {
    const { reach, task } = this.#caret;
    // A flight that is shown instead of the plan has other heights.
    if (this.#instead?.task === this.#task) return null;
    if (task === this.#task && isReachOf(reach, place)) return reach;
    const id = this.#shown?.id;
    const isSame = this.#reachOf?.leg === place.leg && this.#reachOf.xM === place.xM && this.#reachId === id;
    if (!isSame && !this.#isAsking && id !== undefined) {
      this.#reach = undefined;
      this.#reachOf = place;
      this.#reachId = id;
      this.#isAsking = true;
      this.#around.post({ type: 'reach', ask: ++this.#asks, id, task: this.#task, leg: place.leg, xM: place.xM });
    }
    return isSame ? this.#reach : undefined;
  }

  /** Says, once it is quiet, which margins have changed since they were said last. */
  #announce({ task, legs }: Picture): void {
    const now = new Map(
      legs.map((leg) => [
        `${task}\n${leg.number}`,
        leg.notComputed
          ? `leg ${leg.number} is not computed: ${leg.notComputed}`
          : `leg ${leg.number} to ${leg.to}: margin ${leg.cells[LEG_HEADS.indexOf('margin')]}`,
      ]),
    );
    const isFirst = this.#margins.size === 0;
    const changed = [...now].filter(([leg, words]) => this.#margins.get(leg) !== words).map(([, words]) => words);
    if (changed.length === 0) return;
    clearTimeout(this.#quiet);
    this.#quiet = setTimeout(() => {
      this.#margins = now;
      this.#say(isFirst ? `Flight view of ${task}` : changed.join('. '));
    }, QUIET_MS);
  }

  #say(words: string): void {
    setText(this.#live, words);
  }
}
