/** The call list as the bridge tells it, asked and worded for the screens. Pure: the order is the bridge's. */

import {findingName} from './finding-names.mjs';
import {formatClock} from './numbers.mjs';

/**
 * @typedef {{bench: number, since_ms: number, words: string, alarm: string | null, first_out: boolean, attended: boolean}} AtBench
 * @typedef {{id: string, kind: 'ask' | 'alarm' | 'finding', channel: string, words: string, advice: string,
 *     priority: 'high' | 'medium' | 'low', since_ms: number, attended: boolean, benches: AtBench[]}} Call
 * @typedef {{list: Call[], asked: {bench: number, since_ms: number}[], done: {bench: number, since_ms: number}[],
 *     n_more: number}} Calls
 * @typedef {{want: 'help' | 'done' | 'nothing', sinceMs: number}} Asked What a group said last.
 */

/** @type {Calls} */
export const NO_CALLS = {list: [], asked: [], done: [], n_more: 0};

const PLACES = ['next', 'second', 'third', 'fourth', 'fifth', 'sixth', 'seventh', 'eighth', 'ninth', 'tenth'];
const MOST_NUMBERS = 3; // of benches that are named in one line, or one more when it is the last
const SYMBOLS = {ask: '⚑', alarm: '!', finding: '✕'};
const KINDS = {ask: 'A group asks', alarm: 'Alarm', finding: 'Finding'};
const PRIORITIES = ['high', 'medium', 'low'];

/** @param {Calls} calls @returns {Call[]} Those that nobody has attended to everywhere, the first to go to first. */
export const waitingCalls = ({list}) => list.filter(({attended}) => !attended);

/** @param {Call} call @returns {AtBench[]} Its benches that nobody has attended to. */
export const waitingBenches = ({benches}) => benches.filter(({attended}) => !attended);

/**
 * What the group of a bench said last.
 * @param {Calls} calls
 * @param {number} bench
 * @returns {Asked}
 */
export function askedAt({asked, done}, bench) {
  const isHere = (one) => one.bench === bench;
  const help = asked.find(isHere);
  if (help) return {want: 'help', sinceMs: help.since_ms};
  const finished = done.find(isHere);
  return {want: finished ? 'done' : 'nothing', sinceMs: finished?.since_ms ?? 0};
}

/**
 * How many benches the instructor comes to before this one, and one more.
 * @param {Calls} calls
 * @param {number} bench
 * @returns {number | null} From 1; null when the bench is not in the list.
 */
export function placeInLine(calls, bench) {
  const before = new Set();
  for (const call of waitingCalls(calls)) {
    for (const {bench: number} of waitingBenches(call)) {
      before.add(number);
      if (number === bench) return before.size;
    }
  }
  return null;
}

/** @param {number | null} place As `placeInLine` tells it. @returns {string} "You are second."; "" for none. */
export function placeWords(place) {
  if (place === null) return '';
  return `You are ${PLACES[place - 1] ?? `number ${place} in the line`}.`;
}

/** @param {{number: number, name: string}} bench @returns {string} "Bench 3, Wool". */
export function benchWords({number, name}) {
  return name === `Bench ${number}` ? name : `Bench ${number}, ${name}`;
}

/** @param {{number: number, name: string}} bench @returns {string} "3 Wool": where there is little room. */
export function shortBenchWords({number, name}) {
  return name.includes(String(number)) ? name : `${number} ${name}`;
}

/**
 * How long something waits: in whole minutes, so that nothing on a quiet page moves each second.
 * @param {number} ms
 * @returns {string} "under 1 min", "4 min", "1 h 05 min".
 */
export function waitWords(ms) {
  const minutes = Math.floor(Math.max(0, ms) / 60_000);
  if (minutes < 1) return 'under 1 min';
  if (minutes < 60) return `${minutes} min`;
  return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')} min`;
}

/**
 * Where a call leads, in a few words.
 * @param {Call} call
 * @param {(number: number) => string} nameOf
 * @returns {string} "Bench 3, Wool", "Benches 4, 7, 8", "Benches 1, 2, 3 and 6 more".
 */
export function whereWords(call, nameOf) {
  const numbers = leadsTo(call);
  if (numbers.length === 1) return nameOf(numbers[0]);
  const nMore = numbers.length - MOST_NUMBERS;
  if (nMore <= 1) return `Benches ${numbers.join(', ')}`;
  return `Benches ${numbers.slice(0, MOST_NUMBERS).join(', ')} and ${nMore} more`;
}

/**
 * The same where there is little room.
 * @param {Call} call
 * @param {(number: number) => string} nameOf
 * @returns {string} "Bench 3, Wool", "Bench 1 and 8 more".
 */
export function shortWhereWords(call, nameOf) {
  const [first, ...others] = leadsTo(call);
  return others.length ? `Bench ${first} and ${others.length} more` : nameOf(first);
}

function leadsTo(call) {
  const waiting = waitingBenches(call);
  return (waiting.length ? waiting : call.benches).map(({bench}) => bench);
}

/** @param {Call} call @returns {{symbol: string, words: string}} Its kind, and how urgent it is, never by colour alone. */
export function kindWords({kind, priority, attended}) {
  const symbol = kind === 'finding' && priority === 'low' ? '?' : SYMBOLS[kind] ?? '!';
  return {symbol: attended ? '✓' : symbol, words: `${KINDS[kind] ?? kind}, ${priority} priority`};
}

/**
 * A call's words in one line: a finding by its name first, for its sentence may not have room.
 * @param {Call} call
 * @returns {{name: string, sentence: string}} sentence: what may be left out; "" for none.
 */
export function lineWords({id, kind, words}) {
  if (kind !== 'finding') return {name: words, sentence: ''};
  const name = findingName(id.split('/')[1] ?? '');
  return name ? {name, sentence: words} : {name: words, sentence: ''};
}

/** @param {number} nDone @param {number} nBenches @returns {string} "" while nobody is. */
export function doneWords(nDone, nBenches) {
  if (!nDone) return '';
  if (nDone >= nBenches) return nBenches === 1 ? 'The group is done' : `All ${nBenches} are done`;
  return `${nDone} of ${nBenches} ${nDone === 1 ? 'is' : 'are'} done`;
}

/**
 * A flood of alarms in a line: how many, then the groups.
 * @param {{on: boolean, since_ms: number, n_calls: number, groups: object[]} | null} flood As the bridge tells it.
 * @param {(number: number) => string} nameOf
 * @returns {{head: string, groups: string[]} | null} null when none is on.
 */
export function floodWords(flood, nameOf) {
  if (!flood?.on) return null;
  const channels = new Set(flood.groups.filter(({by}) => by === 'cause').map(({channel}) => channel));
  const groups = flood.groups.map((group) => groupWords(group, nameOf, channels.size > 1));
  return {head: `Many alarms: ${flood.n_calls} since ${formatClock(flood.since_ms)}`, groups};
}

function groupWords({by, channel, limit, benches, alarms}, nameOf, named) {
  if (by === 'bench') return `${ownWords(alarms)} at ${nameOf(benches[0])}`;
  return `${named && channel ? `${channel} ` : ''}${limit} at ${benches.length} benches`;
}

/** An alarm that comes and goes calls often: that is told, for it alone may make the flood. */
function ownWords(alarms) {
  if (alarms.length > 1) return `${alarms.length} alarms`;
  const times = alarms[0].n_calls;
  return times > 1 ? `1 alarm, ${times} times,` : '1 alarm';
}

/** Tells which calls are new: each bench of each call once, until it is over or was attended to. */
export class NewCalls {
  constructor() {
    /** @type {Set<string> | null} null before the first list: what stood already is not news. */
    this._known = null;
  }

  /**
   * @param {Calls} calls
   * @returns {{call: Call, at: AtBench}[]} In the list's order.
   */
  take(calls) {
    const now = new Set();
    const fresh = [];
    for (const call of waitingCalls(calls)) {
      for (const at of waitingBenches(call)) {
        const key = `${call.id} ${at.bench}`;
        now.add(key);
        if (this._known && !this._known.has(key)) fresh.push({call, at});
      }
    }
    this._known = now;
    return fresh;
  }
}

/**
 * New calls in one sentence, to be read out.
 * @param {{call: Call, at: AtBench}[]} fresh At least one.
 * @param {(number: number) => string} nameOf
 * @returns {string}
 */
export function newsWords(fresh, nameOf) {
  const [{call, at}] = fresh;
  const words = `${nameOf(at.bench)}: ${at.words || call.words}`;
  return fresh.length === 1 ? `New call. ${words}` : `${fresh.length} new calls. ${words}, and ${fresh.length - 1} more`;
}

/** @param {{call: Call}[]} fresh @returns {'high' | 'medium' | 'low' | null} The most urgent of them. */
export function foremostPriority(fresh) {
  const found = fresh.map(({call}) => PRIORITIES.indexOf(call.priority)).filter((at) => at >= 0);
  return found.length ? PRIORITIES[Math.min(...found)] : null;
}
