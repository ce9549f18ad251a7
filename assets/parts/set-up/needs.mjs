/** Which benches need a person before the lesson can go on, and why, in a few words. Pure. */

import {ofWeight} from '../attention.mjs';

/**
 * @typedef {'asks' | 'fault' | 'trouble' | 'waits' | 'ready'} Need
 * asks: its text can be read in several ways; trouble: no board, a port in use, silent; waits: its text is not known yet.
 */

const SUMMARY = [
  ['ready', 'ready', 'ready'], ['asks', 'asks how to read its text', 'ask how to read their text'],
  ['fault', 'with a fault', 'with a fault'], ['trouble', 'without readings', 'without readings'],
  ['waits', 'not understood yet', 'not understood yet'],
];

/**
 * @param {object} bench
 * @param {{level: string, words: string}} bench.attention What the bench's card would say without alarms and findings.
 * @param {{sure: string} | null} bench.text How its text is understood.
 * @param {{weight: string, since_ms: number, words: string}[]} bench.findings
 * @param {string} bench.link
 * @returns {{need: Need, words: string}}
 */
export function needOf({attention, text, findings, link}) {
  if (text?.sure === 'doubtful') return {need: 'asks', words: 'asks how to read its text'};
  const [fault] = ofWeight(findings, 'fault');
  if (fault) return {need: 'fault', words: fault.words};
  if (link !== 'open' || attention.level === 'notice') return {need: 'trouble', words: attention.words};
  if (!text || text.sure === 'unknown') return {need: 'waits', words: 'its text is not understood yet'};
  return {need: 'ready', words: 'ready'};
}

/**
 * @param {Need[]} needs One for each bench.
 * @returns {string} "8 benches: 6 ready, 1 asks how to read its text, 1 with a fault."
 */
export function summaryOf(needs) {
  const parts = SUMMARY.map(([need, one, many]) => {
    const n = needs.filter((each) => each === need).length;
    return n ? `${n} ${n === 1 ? one : many}` : '';
  }).filter(Boolean);
  const n = needs.length;
  return `${n} ${n === 1 ? 'bench' : 'benches'}${parts.length ? `: ${parts.join(', ')}` : ''}.`;
}
