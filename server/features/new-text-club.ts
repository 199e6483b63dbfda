/** The files of a new club: where it flies from, and what is left to be filled in, said in each. */
import { parseFile } from '../../grammar/file.ts';
import { formatFile } from '../../grammar/format.ts';
import { nameText } from './fixes/writing.ts';
import { faultOfAnswer } from './new-text.ts';

/** Texts are as a plan writes them: `47.2031 N 19.4410 E`, `190 m`, `18/36 900 m surface grass`. */
export interface ClubAnswers {
  readonly home: string;
  readonly position: string;
  readonly elevation: string;
  readonly runway: string | undefined;
}

export interface NewFile {
  /** From the folder of the club. */
  readonly path: string;
  readonly text: string;
}

function laidOut(path: string, lines: readonly string[]): NewFile {
  const text = `${lines.join('\n')}\n`;
  const formatted = formatFile(parseFile(text));
  return { path, text: 'text' in formatted ? formatted.text : text };
}

/**
 * The files of a club around its home field. Refused with the reason when an answer cannot be written. The aircraft is
 * left as a form: every line of it is a finding until it is filled in, and nothing is computed with it.
 */
export function newClubFiles(
  answers: ClubAnswers,
): { readonly files: readonly NewFile[] } | { readonly refused: string } {
  const { home, position, elevation, runway } = answers;
  const given = [
    ['the name of the field', faultOfAnswer('name', home)],
    ['the position', faultOfAnswer('position', position)],
    ['the elevation', faultOfAnswer('elevation', elevation)],
    ['the runway', runway === undefined ? undefined : faultOfAnswer('runway', runway)],
  ] as const;
  const bad = given.find(([, fault]) => fault !== undefined);
  if (bad) return { refused: `${bad[0]}: ${bad[1]}` };
  const name = nameText(home.trim()) as string;

  return {
    files: [
      laidOut('club/fields.taskplan', [
        '# The fields that the club knows, the home field first. Every field counts as a place to land, so write down only',
        '# those that somebody has looked at: elevation, runway and frequency from the notice of the field itself.',
        '',
        `field ${name} at ${position.trim()}`,
        `  elevation ${elevation.trim()}`,
        ...(runway === undefined ? [] : [`  runway ${runway.trim()}`]),
        '  note "Home."',
      ]),
      laidOut('club/turnpoints.taskplan', [
        '# Places to fly over, not to land at. A turnpoint looks like this, without the #:',
        '#',
        '# turnpoint "Name" at 0.0000 N 0.0000 E',
        '#   elevation 0 m',
        '#',
        '# `legwise import FILE` makes fields and turnpoints out of GeoJSON, GPX or CSV.',
      ]),
      laidOut('club/fleet.taskplan', [
        "# The club's gliders, each figure from the flight manual, the placards and the weighing report of that very glider.",
        '# Measured points of the polar (`polar 60 kt sink 2.05 kt`, three or more) may stand in place of `best glide` and',
        '# `minimum sink`. Speeds are indicated.',
        '',
        'aircraft Glider',
        '  note "Fill in every line. Until then nothing is computed with this glider, and each line is a finding."',
        '  best glide 0:1 at 0 kt',
        '  minimum sink 0 kt at 0 kt',
        '  polar mass 0 kg',
        '  empty mass 0 kg',
        '  maximum mass 0 kg',
        '  vs 0 kt',
        '  vne 0 kt',
        '  # pilot     … kg to … kg',
        '  # va        … kt',
        '  # vno       … kt',
        '  # crosswind … kt',
        '  # landing   … m',
      ]),
      laidOut('club/rules.taskplan', [
        '# What the club asks of a plan. The figures are a proposal: the instructors agree them before anyone flies by them.',
        'use "fields.taskplan"',
        '',
        'reserve Training',
        '  arrive 1000 ft AGL',
        '  turn 1500 ft AGL',
        '  clear 500 ft',
        '  performance 70 %',
        '  altimeter 150 ft',
        '  note "A proposal, common practice: not yet agreed by the club."',
        '',
        'limits Solo',
        '  field in glide',
        `  within 12 NM of ${name}`,
        '  land 60 min before sunset',
        '  reserve at least Training',
        '  note "A proposal, common practice: not yet agreed by the club."',
      ]),
    ],
  };
}
