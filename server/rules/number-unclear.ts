import { faultsOf, quoted, type Rule } from './rule.ts';

/** How the number may have been meant. */
function readings(text: string): string {
  const whole = text.replaceAll(',', '');
  const commas = text.length - whole.length;
  const thousands = /^\D?\d{1,3}(,\d{3})+(\.\d+)?$/.test(text);
  const point = text.replace(',', '.');
  if (thousands && commas === 1 && !text.includes('.')) return `Write ${whole}, or ${point} if that is meant.`;
  if (thousands) return `Write ${whole}.`;
  return commas === 1 && !text.includes('.') ? `Write ${point}, with a point.` : 'Write it without commas.';
}

/** A number with a comma. */
export const numberUnclear: Rule = {
  code: 'number-unclear',
  severity: 'error',
  title: 'A number has a comma',
  page: {
    means:
      'A number is written with a comma. Some readers take it for the mark of thousands and others for the decimal point, so it is read as neither.',
    why: 'A start at 1,500 m is a height to go cross-country from, or a metre and a half. The two readers of one plan may well come from two countries.',
    bad: 'reserve Training\n  arrive 1,000 ft AGL\n',
    good: 'reserve Training\n  arrive 1000 ft AGL\n',
    turnDown: 'It is not turned down: write the digits without a comma.',
  },
  needs: 'faults',
  *entry(context) {
    for (const { fault } of faultsOf(context, 'number-unclear')) {
      yield {
        // Of a coordinate the number alone, without the letter behind it.
        at: context.at({ start: fault.span.start, end: fault.span.start + fault.text.length }),
        message: `${quoted(fault.text)} has a comma, which one reader takes for thousands and the next for the decimal point. ${readings(fault.text)}`,
      };
    }
  },
};
