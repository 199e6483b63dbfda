/// <reference lib="dom" />
/** The controls of the what-if: a slider and a field for one number, in the reader's units; and the speed of a leg. */

import { fromSi, toSi, type Unit, unit, unitOf } from '../../grammar/units.ts';
import type { WhatIfControls } from '../../server/features/what-if.ts';
import { element, setAttribute, setText } from './elements.ts';

/** What a number may be, in the reader's unit. */
export interface Scale {
  readonly least: number;
  readonly most: number;
  /** Of the slider; the field takes what lies between as well. */
  readonly step: number;
  readonly decimals: number;
}

/** Numbers that were set, by the control; those that were not are as the plan has them. */
export type Settings = Readonly<Record<string, number | string>>;

const plain = (value: number, decimals: number): string => String(Number(value.toFixed(decimals)));

let ids = 0;

/** One number: a slider, and a field beside it. */
export class NumberControl {
  readonly root: HTMLElement;
  readonly #slider: HTMLInputElement;
  readonly #field: HTMLInputElement;
  readonly #was: HTMLElement;
  #scale: Scale;
  #base: number | undefined;
  #unit: string;

  /** `set` is told of every change; undefined is the plan's own number. */
  constructor(label: string, unitText: string, scale: Scale, set: (value: number | undefined) => void) {
    const id = `what-if-${++ids}`;
    this.#scale = scale;
    this.#unit = unitText;
    const limits = { min: scale.least, max: scale.most, step: scale.step };
    this.#slider = element('input', { type: 'range', ...limits, 'aria-label': `${label}, slider` });
    this.#field = element('input', { type: 'number', ...limits, step: 'any', id, 'aria-describedby': `${id}-was` });
    this.#was = element('span', { class: 'was', id: `${id}-was` });
    this.root = element(
      'div',
      { class: 'control' },
      element('label', { for: id }, label),
      this.#slider,
      element('span', { class: 'value' }, this.#field, ` ${unitText}`),
      this.#was,
    );
    this.#slider.addEventListener('input', () => {
      const value = Number(this.#slider.value);
      this.#field.value = plain(value, this.#scale.decimals);
      this.#mark(value);
      set(this.#isBase(value) ? undefined : value);
    });
    this.#field.addEventListener('input', () => {
      const value = this.#field.valueAsNumber;
      // A field that is being emptied or half typed says nothing yet.
      const isOne = Number.isFinite(value) && value >= this.#scale.least && value <= this.#scale.most;
      setAttribute(this.#field, 'aria-invalid', isOne ? null : 'true');
      if (!isOne) return;
      this.#slider.value = String(value);
      this.#mark(value);
      set(this.#isBase(value) ? undefined : value);
    });
  }

  #isBase(value: number): boolean {
    return this.#base !== undefined && plain(this.#base, this.#scale.decimals) === plain(value, this.#scale.decimals);
  }

  #mark(value: number): void {
    const isChanged = this.#base === undefined || !this.#isBase(value);
    this.root.classList.toggle('changed', isChanged);
    const base = this.#base === undefined ? 'none' : `${plain(this.#base, this.#scale.decimals)} ${this.#unit}`;
    setText(this.#was, isChanged ? `plan: ${base}` : '');
  }

  /** Shows the plan's number (undefined where it has none), or what was set instead. */
  show(base: number | undefined, set: number | undefined): void {
    this.#base = base;
    const value = set ?? base;
    // What is being typed is left alone.
    if (this.#field.ownerDocument.activeElement !== this.#field) {
      if (value !== undefined) this.#field.value = plain(value, this.#scale.decimals);
      setAttribute(this.#field, 'aria-invalid', null);
    }
    if (value !== undefined) this.#slider.value = String(value);
    if (set === undefined && base === undefined) {
      this.root.classList.remove('changed');
      setText(this.#was, 'the plan has none');
    } else this.#mark(value as number);
  }

  /** Takes what was typed away, also from a field that has the keyboard. */
  clear(): void {
    this.#field.value = this.#base === undefined ? '' : plain(this.#base, this.#scale.decimals);
    setAttribute(this.#field, 'aria-invalid', null);
  }
}

/** How a leg is flown, as the list offers it. */
const SPEED_KINDS = [
  ['', 'as written'],
  ['bestGlide', 'best glide'],
  ['indicated', 'indicated speed'],
  ['maccready', 'speed to fly for a climb of'],
] as const;

/** How one leg is flown, or all that have no choice of their own. */
class SpeedControl {
  readonly root: HTMLElement;
  readonly #pick: HTMLSelectElement;
  readonly #values: Readonly<Record<'indicated' | 'maccready', NumberControl>>;
  readonly #written: HTMLElement;

  constructor(
    label: string,
    key: string,
    units: { readonly speed: Unit; readonly climb: Unit },
    speeds: { readonly least: number; readonly most: number },
    set: (key: string, value: number | string | undefined) => void,
  ) {
    const id = `what-if-${++ids}`;
    this.#pick = element(
      'select',
      { id },
      ...SPEED_KINDS.map(([kind, words]) => element('option', { value: kind }, words)),
    );
    this.#written = element('span', { class: 'was' });
    const speedScale = { ...scaleIn(units.speed), least: speeds.least, most: speeds.most };
    this.#values = {
      indicated: new NumberControl(`${label}: indicated speed`, units.speed.text, speedScale, (value) =>
        set(`${key}.indicated`, value),
      ),
      maccready: new NumberControl(
        `${label}: expected climb`,
        units.climb.text,
        { ...scaleIn(units.climb), least: 0, most: Math.round(fromSi(6, units.climb)) },
        (value) => set(`${key}.maccready`, value),
      ),
    };
    this.#pick.addEventListener('change', () => set(key, this.#pick.value === '' ? undefined : this.#pick.value));
    this.root = element(
      'div',
      { class: 'speed' },
      element('div', { class: 'control' }, element('label', { for: id }, label), this.#pick, this.#written),
      this.#values.indicated.root,
      this.#values.maccready.root,
    );
  }

  show(
    kind: string,
    written: string,
    base: { indicated: number; maccready: number },
    settings: Settings,
    key: string,
  ): void {
    this.#pick.value = kind;
    setText(this.#written, written);
    for (const one of ['indicated', 'maccready'] as const) {
      this.#values[one].root.hidden = kind !== one;
      const set = settings[`${key}.${one}`];
      this.#values[one].show(base[one], typeof set === 'number' ? set : undefined);
    }
  }
}

/** Steps that suit a unit. */
function scaleIn({ text }: Unit): Pick<Scale, 'step' | 'decimals'> {
  switch (text) {
    case 'm/s':
      return { step: 0.1, decimals: 2 };
    case 'ft':
      return { step: 50, decimals: 0 };
    case 'm':
      return { step: 10, decimals: 0 };
    case 'ft/min':
      return { step: 10, decimals: 0 };
    default:
      return { step: 1, decimals: 1 };
  }
}

/** A speed that is chosen where nothing is written, m/s. */
const DEFAULT_SPEED_MPS = 30;
const DEFAULT_CLIMB_MPS = 1.5;

const rounded = (value: number, step: number, how: 'floor' | 'ceil'): number => Math[how](value / step) * step;

/** All controls of a task. They are made once for its lines and units, and then shown the plan's numbers as they change. */
export class Controls {
  readonly root = element('div', { class: 'controls' });
  /** What the controls were made for: others need other ones. */
  readonly made: string;
  readonly #numbers = new Map<string, NumberControl>();
  readonly #speeds = new Map<string, SpeedControl>();
  readonly #units: { readonly altitude: Unit; readonly speed: Unit; readonly climb: Unit; readonly mass: Unit };

  constructor(controls: WhatIfControls, set: (key: string, value: number | string | undefined) => void) {
    this.made = Controls.keyOf(controls);
    const of = (text: string, otherwise: Parameters<typeof unit>[0]) => unitOf(text) ?? unit(otherwise);
    const { units } = controls;
    this.#units = {
      altitude: of(units.altitude, 'ft'),
      speed: of(units.speed, 'kt'),
      climb: of(units.climb, 'kt'),
      mass: of(units.mass, 'kg'),
    };
    const { altitude, speed, mass } = this.#units;
    const group = (legend: string, ...children: HTMLElement[]) =>
      this.root.append(element('fieldset', {}, element('legend', {}, legend), ...children));
    const number = (key: string, label: string, unitText: string, scale: Scale): HTMLElement => {
      const control = new NumberControl(label, unitText, scale, (value) => set(key, value));
      this.#numbers.set(key, control);
      return control.root;
    };
    const windMost = rounded(
      Math.max(fromSi(30, speed), ...controls.winds.map((one) => 1.5 * fromSi(one.speedMps, speed))),
      5,
      'ceil',
    );
    group(
      controls.weather === null ? 'Wind' : `Wind of ${controls.weather}`,
      number('factor', 'All winds times', '×', { least: 0, most: 3, step: 0.05, decimals: 2 }),
      number('more', 'All winds more by', speed.text, { ...scaleIn(speed), least: -windMost, most: windMost }),
      ...controls.winds.flatMap(({ index, at, magnetic }) => [
        number(`speed.${index}`, `Wind at ${at}`, speed.text, { ...scaleIn(speed), least: 0, most: windMost }),
        number(`from.${index}`, `Wind at ${at} from`, magnetic ? '°M' : '°', {
          least: 0,
          most: 360,
          step: 5,
          decimals: 0,
        }),
      ]),
    );
    const { start } = controls;
    if (start) {
      const { step } = scaleIn(altitude);
      const ground = start.elevationM ?? 0;
      const most = Math.max(ground + 3500, 1.2 * start.altitudeM);
      group(
        'Start',
        number('start', `Height over ${start.point || 'the start'}, above the sea`, altitude.text, {
          ...scaleIn(altitude),
          least: rounded(fromSi(ground, altitude), step, 'ceil'),
          most: rounded(fromSi(most, altitude), step, 'ceil'),
        }),
      );
    }
    if (controls.legs.length > 0) {
      const speeds = {
        least: Math.floor(fromSi(controls.vsMps ?? 15, speed)),
        most: Math.ceil(fromSi(controls.vneMps ?? 80, speed)),
      };
      const one = (key: string, label: string) => {
        const control = new SpeedControl(label, key, this.#units, speeds, set);
        this.#speeds.set(key, control);
        return control.root;
      };
      group(
        'Speed',
        ...(controls.legs.length > 1 ? [one('fly.all', 'Every leg')] : []),
        ...controls.legs.map(({ number: leg, to }) => one(`fly.${leg}`, `Leg ${leg} to ${to || '?'}`)),
      );
    }
    const glider: HTMLElement[] = [];
    if (controls.share !== null)
      glider.push(
        number('share', 'Share of the polar planned on', '%', { least: 30, most: 100, step: 1, decimals: 1 }),
      );
    if (controls.aircraft !== null) {
      const inMass = (kg: number) => Math.round(fromSi(kg, mass));
      const { pilotLeastKg, pilotMostKg, ballastMostKg } = controls;
      const scale = { step: 1, decimals: 1 };
      const heaviest = Math.max(pilotMostKg ?? 0, 1.2 * (controls.pilotKg ?? 0), 120);
      const lightest = Math.min(pilotLeastKg ?? 50, controls.pilotKg ?? 50);
      glider.push(number('pilot', 'Pilot', mass.text, { ...scale, least: inMass(lightest), most: inMass(heaviest) }));
      if (ballastMostKg > 0)
        glider.push(number('ballast', 'Ballast', mass.text, { ...scale, least: 0, most: inMass(ballastMostKg) }));
    }
    if (glider.length > 0) group(controls.aircraft === null ? 'Reserve' : `Glider: ${controls.aircraft}`, ...glider);
  }

  /** What the controls are made for. */
  static keyOf({ units, winds, weather, start, legs, share, aircraft, ballastMostKg, vneMps }: WhatIfControls): string {
    const lines = [winds.map(({ at, magnetic }) => [at, magnetic]), legs.map(({ number, to }) => [number, to])];
    return JSON.stringify([units, weather, lines, start?.point, share === null, aircraft, ballastMostKg, vneMps]);
  }

  /** Shows the plan's numbers, and those that were set instead. */
  show(controls: WhatIfControls, settings: Settings): void {
    const { altitude, speed, climb, mass } = this.#units;
    const base = (key: string): number | undefined => {
      const [what, which] = key.split('.');
      const wind = controls.winds[Number(which)];
      switch (what) {
        case 'factor':
          return 1;
        case 'more':
          return 0;
        case 'speed':
          return wind && fromSi(wind.speedMps, speed);
        case 'from':
          return wind?.fromDeg;
        case 'start':
          return controls.start ? fromSi(controls.start.altitudeM, altitude) : undefined;
        case 'share':
          return controls.share === null ? undefined : 100 * controls.share;
        case 'pilot':
          return controls.pilotKg === null ? undefined : fromSi(controls.pilotKg, mass);
        default:
          return fromSi(controls.ballastKg, mass);
      }
    };
    for (const [key, control] of this.#numbers) {
      const set = settings[key];
      control.show(base(key), typeof set === 'number' ? set : undefined);
    }
    for (const [key, control] of this.#speeds) {
      const leg = controls.legs.find(({ number }) => `fly.${number}` === key);
      const written = leg?.speed;
      const kind = settings[key];
      const words =
        !leg || !written
          ? ''
          : written.kind === 'indicated'
            ? `plan: ${plain(fromSi(written.indicatedMps, speed), 1)} ${speed.text}`
            : written.kind === 'maccready'
              ? `plan: for a climb of ${plain(fromSi(written.climbMps, climb), 1)} ${climb.text}`
              : leg.soared
                ? 'plan: best glide, or the speed to fly where it soars'
                : 'plan: best glide';
      const indicated = Math.round(fromSi(leg?.indicatedMps ?? DEFAULT_SPEED_MPS, speed));
      const climbs = written?.kind === 'maccready' ? written.climbMps : DEFAULT_CLIMB_MPS;
      const maccready = Number(fromSi(climbs, climb).toFixed(scaleIn(climb).decimals));
      control.show(typeof kind === 'string' ? kind : '', words, { indicated, maccready }, settings, key);
    }
  }

  /** Empties what is half typed. */
  clear(): void {
    for (const control of this.#numbers.values()) control.clear();
  }

  /** What was set, as the server takes it: in SI. */
  changes(controls: WhatIfControls, settings: Settings): Record<string, unknown> {
    const { altitude, speed, climb, mass } = this.#units;
    const si = (key: string, of: Unit): number | undefined => {
      const value = settings[key];
      return typeof value === 'number' ? toSi(value, of) : undefined;
    };
    const winds = controls.winds.flatMap(({ index }) => {
      const speedMps = si(`speed.${index}`, speed);
      const fromDeg = settings[`from.${index}`];
      if (speedMps === undefined && fromDeg === undefined) return [];
      return [
        { index, ...(speedMps === undefined ? {} : { speedMps }), ...(fromDeg === undefined ? {} : { fromDeg }) },
      ];
    });
    const speeds = [...this.#speeds.keys()].flatMap((key) => {
      const kind = settings[key];
      const leg = controls.legs.find(({ number }) => `fly.${number}` === key);
      const of = leg ? { leg: leg.number } : {};
      if (kind === 'bestGlide') return [{ ...of, speed: { kind } }];
      if (kind === 'indicated') {
        const otherwise = toSi(Math.round(fromSi(leg?.indicatedMps ?? DEFAULT_SPEED_MPS, speed)), speed);
        return [{ ...of, speed: { kind, indicatedMps: si(`${key}.indicated`, speed) ?? otherwise } }];
      }
      if (kind !== 'maccready') return [];
      const written = leg?.speed?.kind === 'maccready' ? leg.speed.climbMps : DEFAULT_CLIMB_MPS;
      const otherwise = toSi(Number(fromSi(written, climb).toFixed(scaleIn(climb).decimals)), climb);
      return [{ ...of, speed: { kind, climbMps: si(`${key}.maccready`, climb) ?? otherwise } }];
    });
    const { factor, share } = settings;
    return Object.fromEntries(
      Object.entries({
        winds: winds.length > 0 ? winds : undefined,
        windFactor: factor,
        windMoreMps: si('more', speed),
        startAltitudeM: si('start', altitude),
        speeds: speeds.length > 0 ? speeds : undefined,
        share: typeof share === 'number' ? share / 100 : undefined,
        pilotKg: si('pilot', mass),
        ballastKg: si('ballast', mass),
      }).filter(([, value]) => value !== undefined),
    );
  }

  /** What an answer sets: a start height, or the speed of a leg. */
  settingsFor(changes: unknown): Settings {
    const { startAltitudeM, speeds } = changes as {
      startAltitudeM?: number;
      speeds?: readonly { leg?: number; speed: { indicatedMps?: number } }[];
    };
    const { altitude, speed } = this.#units;
    const made: Record<string, number | string> = {};
    if (startAltitudeM !== undefined) made['start'] = Number(fromSi(startAltitudeM, altitude).toFixed(6));
    for (const { leg, speed: one } of speeds ?? []) {
      if (one.indicatedMps === undefined) continue;
      made[`fly.${leg}`] = 'indicated';
      made[`fly.${leg}.indicated`] = Number(fromSi(one.indicatedMps, speed).toFixed(6));
    }
    return made;
  }
}
