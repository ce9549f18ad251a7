/** The journal as a CSV file: the same columns as `benchrow read --journal`. Pure. */

/** @typedef {import('./entries.mjs').Entry} Entry */

const COLUMNS = ['time', 'bench', 'channel', 'alarm', 'kind', 'event', 'state', 'before', 'value', 'limit', 'unit', 'priority', 'who', 'reason',
  'until', 'message'];
const BEGINS_FORMULA = /^[=+\-@\t\r\n'\uff1d\uff0b\uff0d\uff20]/;

/**
 * @param {Entry[]} entries In any order; the file has them by their times.
 * @param {number} startUtcMs When the session began, ms since 1970.
 * @returns {string} RFC 4180, with a header.
 */
export function csvOf(entries, startUtcMs) {
  const rows = entries
    .toSorted((a, b) => a.ms - b.ms || a.bench - b.bench || a.number - b.number)
    .map((one) => [
      utc(startUtcMs + one.ms), one.bench, one.channel, one.limit, one.kind, one.event, one.state, one.before, one.value, one.at, one.unit,
      one.priority, one.who, one.reason, one.untilMs === null ? null : utc(startUtcMs + one.untilMs), one.message,
    ]);
  return [COLUMNS, ...rows].map((row) => `${row.map(cell).join(',')}\r\n`).join('');
}

/** @returns {string} ISO 8601 to the millisecond. */
function utc(ms) {
  return new Date(ms).toISOString();
}

function cell(value) {
  if (value === null || value === undefined) return '';
  if (typeof value === 'number') return String(value);
  const text = asTextCell(value);
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/**
 * Text that a spreadsheet would take for a formula gets an apostrophe before it.
 * @param {string} text
 * @returns {string}
 */
export function asTextCell(text) {
  return BEGINS_FORMULA.test(text) ? `'${text}` : text;
}
