/// <reference lib="dom" />
/// <reference lib="dom.iterable" />
/**
 * The what-if of the panel: controls, what they make of every leg, the answers that one asks for, and the writing. The
 * numbers come from the server, from the text as it would stand; nothing is computed here.
 */

import type { WhatIfAnswer } from '../../server/features/what-if.ts';
import type { SharedChoice } from '../../server/features/what-if-edits.ts';
import { element, matchChildren, setAttribute, setText } from './elements.ts';
import type { Part, PartHost, Shown } from './parts.ts';
import { Controls, type Settings } from './what-if-controls.ts';
import { type FromWhatIf, toWhatIf } from './what-if-protocol.ts';

/** Over the drawing, so that nobody takes it for the plan. */
const NOTE = 'What-if, not written: this is not the plan.';
/** The answers are asked for once nothing has moved for this long, ms: they take longer than a frame. */
const QUIET_MS = 250;

/** What is kept across hiding the panel. */
interface Kept {
  readonly uri: string;
  readonly task: string;
  readonly isOpen: boolean;
  readonly settings: Settings;
}

function keptOf(value: unknown): Kept | undefined {
  const { uri, task, isOpen, settings } = (typeof value === 'object' && value !== null ? value : {}) as Partial<Kept>;
  if (typeof uri !== 'string' || typeof task !== 'string' || typeof isOpen !== 'boolean') return undefined;
  const entries = Object.entries(typeof settings === 'object' && settings !== null ? settings : {});
  const good = entries.filter(([, one]) => typeof one === 'string' || Number.isFinite(one));
  return { uri, task, isOpen, settings: Object.fromEntries(good) };
}

const FATES = { new: 'New', gone: 'Gone', changed: 'Changed' } as const;
const SEVERITIES = { error: 'error', warning: 'warning', info: 'note', hint: 'hint' } as const;
const HEADS = ['leg', 'margin planned', 'margin now', 'change', 'height required', 'arrival', 'speed', 'time'] as const;

/** `4,192 ft MSL → 4,304 ft MSL`; one text where both are the same. */
const arrow = (before: string, after: string): string => (before === after ? after : `${before} → ${after}`);

/** The caption of the table says what its heights are above. */
const plainHeight = (text: string): string => text.replace(/ MSL$/, '');

class WhatIfView {
  readonly #host: PartHost;
  readonly #details = element('details', { class: 'what-if' });
  readonly #body = element('div', { class: 'what-if-body' });
  readonly #state = element('p', { class: 'state', role: 'status' });
  readonly #controlsHere = element('div');
  readonly #rows = element('tbody');
  readonly #caption = element('caption');
  readonly #findings = element('ul', { class: 'findings-changed' });
  readonly #findingsHead = element('h3', {}, 'What is found otherwise');
  readonly #answersHead = element('h3', {}, 'Answers');
  readonly #answers = element('ul', { class: 'answers' });
  readonly #mean = element('p', { class: 'mean' });
  readonly #refused = element('ul', { class: 'refused' });
  readonly #shared = element('fieldset', { class: 'shared', hidden: true });
  readonly #changes = element('ul', { class: 'changes' });
  readonly #write = element(
    'button',
    { type: 'button', class: 'primary', disabled: true },
    'Write these into the plan',
  );
  readonly #reset = element('button', { type: 'button', class: 'secondary', disabled: true }, 'Reset');

  #shown: Shown | undefined;
  #controls: Controls | undefined;
  #answer: WhatIfAnswer | undefined;
  #settings: Settings = {};
  #choice: SharedChoice = 'copy';
  /** Of the question that was asked last; an answer to another is dropped. */
  #asked = 0;
  #isAsking = false;
  /** Something has changed since it was asked. */
  #isStale = false;
  #isScheduled = false;
  #wantsAnswers = false;
  #isWriting = false;
  #quiet: ReturnType<typeof setTimeout> | undefined;

  constructor(section: HTMLElement, host: PartHost) {
    this.#host = host;
    const kept = keptOf(host.kept);
    const heads = HEADS.map((head) => element('th', { scope: 'col' }, head));
    const table = element('table', {}, this.#caption, element('thead', {}, element('tr', {}, ...heads)), this.#rows);
    this.#body.append(
      this.#state,
      this.#controlsHere,
      this.#refused,
      element('div', { class: 'scrolls', tabindex: 0, role: 'region', 'aria-label': 'Legs before and after' }, table),
      this.#findingsHead,
      this.#findings,
      this.#answersHead,
      this.#answers,
      this.#mean,
      element('h3', {}, 'Writing'),
      this.#changes,
      this.#shared,
      element('p', { class: 'buttons' }, this.#write, this.#reset),
    );
    this.#details.append(element('summary', {}, element('h2', {}, 'What if…')), this.#body);
    section.setAttribute('aria-label', 'What if');
    section.append(this.#details);
    if (kept?.isOpen) this.#details.open = true;
    if (kept) this.#settings = kept.settings;
    this.#details.addEventListener('toggle', () => {
      this.#keep();
      if (this.#details.open) this.#ask();
      else this.#draw();
    });
    this.#write.addEventListener('click', () => this.#writeNow());
    this.#reset.addEventListener('click', () => {
      this.#forget();
      this.#host.say('What-if is reset: the plan is shown again.');
    });
    host.onMessage((body) => this.#onMessage(body));
    host.onShown((shown) => this.#onShown(shown, kept));
  }

  #taskName(shown = this.#shown): string {
    return shown?.tasks[shown.task]?.picture.task ?? '';
  }

  #onShown(shown: Shown | undefined, kept: Kept | undefined): void {
    const before = this.#shown;
    this.#shown = shown;
    this.#details.hidden = shown === undefined;
    if (!shown) {
      this.#asked += 1;
      this.#isAsking = false;
      return;
    }
    const isOther = before
      ? before.uri !== shown.uri || before.task !== shown.task
      : kept !== undefined && (kept.uri !== shown.uri || kept.task !== this.#taskName());
    if (isOther) this.#forget();
    if (before?.id !== shown.id || isOther) this.#ask();
  }

  /** What was set for one task is nothing to another. */
  #forget(): void {
    this.#settings = {};
    this.#choice = 'copy';
    this.#host.showInstead(undefined);
    this.#controls?.clear();
    this.#keep();
    this.#ask();
  }

  #keep(): void {
    if (!this.#shown) return;
    const { uri } = this.#shown;
    const kept: Kept = { uri, task: this.#taskName(), isOpen: this.#details.open, settings: this.#settings };
    this.#host.keep(kept);
  }

  #set(key: string, value: number | string | undefined): void {
    const { [key]: _, ...others } = this.#settings;
    this.#settings = value === undefined ? others : { ...others, [key]: value };
    this.#keep();
    this.#ask();
  }

  /** Asks in the next frame, once, whatever is set until then; and again when the answer is there, if it is old by then. */
  #ask(): void {
    this.#isStale = true;
    this.#wantsAnswers = false;
    setText(this.#answersHead, 'Answers, being worked out anew');
    clearTimeout(this.#quiet);
    this.#quiet = setTimeout(() => {
      this.#wantsAnswers = true;
      this.#isStale = true;
      this.#schedule();
    }, QUIET_MS);
    this.#schedule();
  }

  #schedule(): void {
    if (this.#isScheduled || this.#isAsking || !this.#details.open) return;
    this.#isScheduled = true;
    requestAnimationFrame(() => {
      this.#isScheduled = false;
      this.#send();
    });
  }

  #send(): void {
    if (!this.#isStale || this.#isAsking || !this.#shown || !this.#details.open) return;
    this.#isStale = false;
    this.#isAsking = true;
    this.#asked += 1;
    this.#post({ type: 'ask', ask: this.#asked, ...this.#what(), answers: this.#wantsAnswers });
  }

  #what(): { uri: string; task: number; changes: Record<string, unknown>; shared: SharedChoice } {
    const shown = this.#shown as Shown;
    const changes = this.#controls && this.#answer ? this.#controls.changes(this.#answer.controls, this.#settings) : {};
    return { uri: shown.uri, task: shown.task, changes, shared: this.#choice };
  }

  #post(message: FromWhatIf): void {
    this.#host.post(message);
  }

  #onMessage(body: unknown): void {
    const message = toWhatIf(body);
    switch (message?.type) {
      case 'open':
        this.#details.open = true;
        this.#details.scrollIntoView({ block: 'nearest' });
        (this.#details.querySelector('summary') as HTMLElement).focus();
        this.#ask();
        return;
      case 'answer':
        if (message.ask !== this.#asked) return;
        this.#isAsking = false;
        this.#take(message.answer);
        this.#schedule();
        return;
      case 'failed':
        if (message.ask !== this.#asked) return;
        this.#isAsking = false;
        // Without a reason the text has just changed: the view is told of that, or asks once more.
        if (message.why === '') this.#isStale = true;
        else this.#fail(message.why);
        this.#schedule();
        return;
      case 'written':
        this.#isWriting = false;
        if (message.done) {
          this.#forget();
          this.#host.say(message.text);
        } else this.#fail(message.text);
    }
  }

  #fail(why: string): void {
    this.#host.showInstead(undefined);
    setText(this.#state, `The what-if is not worked out: ${why}`);
    this.#write.disabled = true;
  }

  #take(answer: WhatIfAnswer): void {
    const isFirst = this.#answer === undefined || this.#controls === undefined;
    // The answers to what one asks stay until there are others.
    this.#answer = { ...answer, answers: answer.answers ?? this.#answer?.answers ?? null };
    if (this.#controls?.made !== Controls.keyOf(answer.controls)) {
      this.#controls = new Controls(answer.controls, (key, value) => this.#set(key, value));
      this.#controlsHere.replaceChildren(this.#controls.root);
    }
    this.#controls.show(answer.controls, this.#settings);
    // Before the first answer it is not known how the numbers that were kept are to be asked.
    if (isFirst && Object.keys(this.#settings).length > 0) this.#isStale = true;
    this.#draw(answer.answers !== null);
  }

  #draw(areAnswersNew = false): void {
    const answer = this.#answer;
    const shown = this.#shown;
    if (!answer || !shown) return;
    const isOn = answer.changed && this.#details.open;
    const { flight } = answer;
    this.#host.showInstead(isOn && flight ? { task: answer.index, flight, note: NOTE } : undefined);
    this.#body.classList.toggle('on', isOn);
    const least = answer.least
      ? ` Least margin ${arrow(answer.least.before, answer.least.after)}, on leg ${answer.least.leg}.`
      : '';
    setText(this.#state, isOn ? `${NOTE}${least}` : 'Nothing is changed: the numbers are those of the plan.');
    this.#drawLegs(answer);
    this.#drawFindings(answer);
    if (areAnswersNew || !answer.answers) this.#drawAnswers(answer);
    matchChildren(
      this.#refused,
      answer.refused,
      () => element('li'),
      (item, why) => setText(item, why),
    );
    this.#drawWriting(answer);
  }

  #drawLegs({ task, legs }: WhatIfAnswer): void {
    setText(this.#caption, `${task || 'The task'}: as planned → with the changes; heights above the sea`);
    matchChildren(
      this.#rows,
      legs,
      () => element('tr', {}, element('th', { scope: 'row' }), ...HEADS.slice(1).map(() => element('td'))),
      (row, { number, from, to, before, after, marginChangeM, change }) => {
        const more = marginChangeM === null || change === 'no change' ? '' : marginChangeM < 0 ? '▼ ' : '▲ ';
        const low = after.makes === false && after.marginM !== null ? ', too low' : '';
        const cells = [
          `${number} ${from || '?'} → ${to || '?'}`,
          before.text.margin,
          `${after.text.margin}${low}`,
          `${more}${change}`,
          arrow(plainHeight(before.text.required), plainHeight(after.text.required)),
          arrow(plainHeight(before.text.arrive), plainHeight(after.text.arrive)),
          arrow(before.text.speed, after.text.speed),
          arrow(before.text.time, after.text.time),
        ];
        row.classList.toggle('short', after.makes === false);
        row.classList.toggle('moved', change !== 'no change');
        for (const [i, cell] of [...row.children].entries()) {
          setText(cell, cells[i] ?? '');
          if (i === 2) setAttribute(cell, 'class', 'margin');
        }
      },
    );
  }

  #drawFindings({ findings, changed }: WhatIfAnswer): void {
    this.#findingsHead.hidden = !changed;
    this.#findings.hidden = !changed;
    const said =
      findings.length > 0
        ? findings.map(({ fate, severity, message }) => `${FATES[fate]} ${SEVERITIES[severity]}: ${message}`)
        : ['Nothing comes, and nothing goes.'];
    matchChildren(
      this.#findings,
      said,
      () => element('li'),
      (item, words) => setText(item, words),
    );
  }

  #drawAnswers({ answers, answersMean }: WhatIfAnswer): void {
    if (answers) setText(this.#answersHead, 'Answers');
    setText(this.#mean, answersMean);
    matchChildren(
      this.#answers,
      answers ?? [],
      () =>
        element(
          'li',
          {},
          element('span', { class: 'question' }),
          element('span', { class: 'said' }),
          element('button', { type: 'button', class: 'secondary' }, 'Try it'),
        ),
      (item, { question, text, changes }) => {
        setText(item.querySelector('.question') as Element, `${question}: `);
        setText(item.querySelector('.said') as Element, text);
        const button = item.querySelector('button') as HTMLButtonElement;
        button.hidden = changes === null;
        setAttribute(button, 'aria-label', changes === null ? null : `Try it: ${question}, ${text}`);
        button.onclick = () => {
          if (!changes || !this.#controls) return;
          this.#settings = { ...this.#settings, ...this.#controls.settingsFor(changes) };
          this.#keep();
          this.#ask();
        };
      },
    );
  }

  #drawWriting({ changed, changes, shared }: WhatIfAnswer): void {
    matchChildren(
      this.#changes,
      changed
        ? changes.map(({ label, before, after }) => `${label}: ${before ?? 'none'} → ${after}`)
        : ['Nothing to write.'],
      () => element('li'),
      (item, words) => setText(item, words),
    );
    this.#shared.hidden = shared.length === 0;
    if (shared.length > 0) this.#drawShared(shared);
    this.#write.disabled = !changed || this.#isWriting;
    this.#reset.disabled = Object.keys(this.#settings).length === 0;
  }

  #drawShared(shared: WhatIfAnswer['shared']): void {
    const choices: readonly (readonly [SharedChoice, string])[] = [
      ['copy', `into this plan: ${shared.map(({ copy, kind }) => `a ${kind} “${copy}” of its own`).join(', ')}`],
      [
        'in place',
        shared
          .map(({ kind, name, file, users, count }) => {
            const named = users.join(', ') + (count > users.length ? ` and ${count - users.length} more` : '');
            const others = count === 0 ? 'no other task names it now' : `this changes ${named} as well`;
            return `in ${file}, where the ${kind} “${name}” stands: ${others}`;
          })
          .join('; '),
      ],
    ];
    if (this.#shared.childElementCount === 0) {
      this.#shared.append(element('legend', {}, 'Where what others may share is written'));
      for (const [choice] of choices) {
        const radio = element('input', { type: 'radio', name: 'what-if-shared', value: choice });
        radio.addEventListener('change', () => {
          this.#choice = choice;
          this.#ask();
        });
        this.#shared.append(element('label', {}, radio, element('span')));
      }
    }
    for (const [i, label] of [...this.#shared.querySelectorAll('label')].entries()) {
      const [choice, words] = choices[i] as (typeof choices)[number];
      setText(label.querySelector('span') as Element, ` ${words}`);
      (label.querySelector('input') as HTMLInputElement).checked = choice === this.#choice;
    }
  }

  #writeNow(): void {
    // What is written is what was shown: not while an answer is on its way.
    if (!this.#answer?.changed || this.#isStale || this.#isAsking || this.#isWriting) {
      if (this.#isStale || this.#isAsking)
        this.#host.say('The numbers are being worked out; write them when they are shown.');
      return;
    }
    this.#isWriting = true;
    this.#write.disabled = true;
    this.#post({ type: 'write', ...this.#what() });
  }
}

/** The what-if, in its section of the panel. */
export const whatIf: Part = (section, host) => {
  new WhatIfView(section, host);
};
