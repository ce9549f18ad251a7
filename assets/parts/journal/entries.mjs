/** The journal's entries as the bridge tells them: put together, chosen from, named. Pure. */

import {eventWords} from '../alarm-words.mjs';

export const KINDS = ['high-high', 'high', 'low', 'low-low', 'rate of change', 'deviation', 'stale', 'bad quality', 'finding'];

/**
 * @typedef {object} Entry One transition of one alarm.
 * @property {number} number From 0, in the order in which the bridge learned of them.
 * @property {number} ms Session time.
 * @property {number} bench
 * @property {string} channel "" for an alarm of the whole bench.
 * @property {string} limit @property {string | null} kind @property {number} at @property {string} unit
 * @property {'high' | 'medium' | 'low' | null} priority @property {string} message
 * @property {string} event @property {string} state @property {string} before @property {number | null} value
 * @property {string} who @property {string} reason @property {number | null} untilMs
 * @typedef {{bench: string, kind: string, priority: string, text: string}} Choice "" for any.
 */

/**
 * @param {{first: number, entries: any[][], alarms: object[]}} answer A piece of the journal.
 * @returns {Entry[]}
 */
export function entriesOf({first, entries, alarms}) {
  return entries.map(([ms, bench, alarm, event, state, before, value, who, reason, untilMs], i) => ({
    number: first + i, ms, bench, ...alarms[alarm], event, state, before, value, who, reason, untilMs,
  }));
}

/**
 * By their times, the newest first; those of one bench stay in their order.
 * @param {Entry[]} entries
 * @returns {Entry[]}
 */
export function newestFirst(entries) {
  return entries.toSorted((a, b) => b.ms - a.ms || b.bench - a.bench || b.number - a.number);
}

/**
 * @param {Entry[]} entries
 * @param {Choice} choice
 * @param {(bench: number) => string} nameOf
 * @returns {Entry[]} Those that fit all of it; every word of the text must stand somewhere in the entry.
 */
export function chosenOf(entries, {bench, kind, priority, text}, nameOf) {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  return entries.filter((one) => (bench === '' || String(one.bench) === bench)
    && (kind === '' || one.kind === kind) && (priority === '' || one.priority === priority)
    && words.every((word) => textOf(one, nameOf).includes(word)));
}

function textOf({bench, channel, limit, kind, event, state, message, who, reason}, nameOf) {
  return [`bench ${bench}`, nameOf(bench), channel, limit, kind, eventWords(event), state, message, who, reason].join('\n').toLowerCase();
}
