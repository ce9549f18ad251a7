/** What an alarm says in words: of what kind it is, how it stands. Pure. */

import {formatClock, formatNumber} from './numbers.mjs';

const OF_VALUE = {'high-high': 'above', high: 'above', low: 'below', 'low-low': 'below'};
const HELD = new Set(['shelved', 'suppressed', 'out of service']);

const EVENTS = {
  'rise': '▲ rose', 'return': '▽ returned', 'acknowledge': '✓ acknowledged', 'reset': '✓ reset', 're-alarm': '▲ called again',
  'shelve': '– shelved', 'unshelve': '▲ off the shelf', 'suppress': '– does not count now', 'unsuppress': '▲ counts again',
  'remove': '– taken out of service', 'restore': '▲ in service again',
};

/** @param {string} event @returns {string} What happened to an alarm, with its symbol. */
export const eventWords = (event) => EVENTS[event] ?? event;

/** @param {{kind: string}} limit @returns {boolean} Whether it is a limit of the value itself, to be drawn on its scale. */
export const isOfValue = ({kind}) => kind in OF_VALUE;

/** @param {{kind: string}} limit @returns {boolean} Whether it forbids what lies above it. */
export const isHigh = ({kind}) => OF_VALUE[kind] === 'above';

/** @param {{state: string}} alarm @returns {boolean} Whether it is set aside: nobody is called. */
export const isHeld = ({state}) => HELD.has(state);

/** @param {{state: string}} alarm @returns {boolean} Whether nobody has seen it yet. */
export const isUnseen = ({state}) => state.endsWith('unacknowledged');

/**
 * @param {{state: string, before: string, event: string, first_out: boolean}} alarm
 * @returns {boolean} Whether it calls for a person now; one that turns out to be the first of several is told again.
 */
export const isNewCall = ({state, before, event, first_out: isFirst}) =>
  state === 'unacknowledged' && (before !== state || event === 're-alarm') && !(isFirst && event === 'rise');

/**
 * An alarm in a few words: what is passed, the limit and its unit.
 * @param {{kind: string, limit: string, at: number, channel: string}} alarm
 * @param {{unit: string, decimals: number}} channel
 * @param {boolean} named Whether the channel must be named.
 * @returns {string} For example "above 48.0 °C".
 */
export function alarmWords(alarm, {unit, decimals}, named) {
  const words = kindWords(alarm, measured(alarm.at, alarm.kind, unit, decimals));
  return named && alarm.channel ? `${alarm.channel} ${words}` : words;
}

function kindWords({kind, limit}, at) {
  switch (kind) {
    case 'rate of change': return `changes faster than ${at}`;
    case 'deviation': return `further than ${at} from the class`;
    case 'stale': return `no value for ${at}`;
    case 'bad quality': return 'not to be trusted';
    case 'finding': return limit === 'finding' ? 'has a finding' : limit;
    default: return `${OF_VALUE[kind] ?? limit} ${at}`;
  }
}

/**
 * A number as an alarm of that kind judges it, with its unit.
 * @returns {string} "" for one that judges no number.
 */
export function measured(number, kind, unit, decimals) {
  if (kind === 'bad quality' || kind === 'finding' || number === null) return '';
  if (kind === 'stale') return `${formatNumber(number, Number.isInteger(number) ? 0 : 1)} s`;
  const of = kind === 'rate of change' && unit ? `${unit}/min` : unit;
  return `${formatNumber(number, decimals)}${of ? ` ${of}` : ''}`;
}

const STATES = {
  'unacknowledged': ['!', 'stands, not yet acknowledged'],
  'acknowledged': ['✓', 'stands, acknowledged'],
  'returned unacknowledged': ['!', 'has returned, not yet acknowledged'],
  'latched unacknowledged': ['!', 'has returned and is held, not yet acknowledged'],
  'latched acknowledged': ['✓', 'has returned and is held until it is reset'],
  'shelved': ['–', 'shelved'],
  'suppressed': ['–', 'does not count now'],
  'out of service': ['–', 'out of service'],
};

/**
 * How an alarm stands.
 * @param {{state: string, who: string, reason: string, until_ms: number | null}} alarm
 * @returns {{symbol: string, words: string}}
 */
export function stateWords({state, who, reason, until_ms: until, first_out: isFirst}) {
  const [symbol, plain] = STATES[state] ?? ['!', state];
  let words = plain;
  if (state === 'acknowledged' && who) words += ` by ${who}`;
  if (state === 'shelved') words += `${until === null ? '' : ` until ${formatClock(until)}`}${reason ? `: ${reason}` : ''}`;
  if (state === 'suppressed') words += reason ? `: the phase is ${reason}` : ': its phase has not begun';
  if (isFirst && !HELD.has(state)) words += '; the first of several';
  return {symbol, words};
}
