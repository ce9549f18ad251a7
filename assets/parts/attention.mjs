/**
 * What a bench's card says in words, and how loudly. Pure: the bridge decided what is wrong, this words it and chooses what
 * comes first, since a card has one place for it.
 */

import {alarmWords, isHeld} from './alarm-words.mjs';
import {findingName} from './finding-names.mjs';
import {formatAge, formatClock} from './numbers.mjs';

/**
 * @typedef {'calm' | 'seen' | 'notice' | 'urgent'} Level
 * calm: nothing to do; seen: worth a look, or an alarm that was acknowledged; notice: a person should look; urgent: an alarm
 * waits for a person.
 * @typedef {{level: Level, symbol: string, words: string, age: string, more: string, alarm: string | null}} Attention
 * age: how old the value is, when it is no longer live; alarm: the id that a press acknowledges.
 */

const PRIORITIES = ['high', 'medium', 'low'];
const MOST_LETTERS = 40; // of a finding's words that a card shows large, in two lines
const LINK_TROUBLE = new Set(['in use', 'no permission', 'lost']);
const LINK_RESTING = new Set(['searching', 'released', 'ended']);

/**
 * @param {object} bench
 * @param {{link: string, words: string, remedy: string}} bench.status As the bridge sent it.
 * @param {object[]} bench.alarms Those of the bench that are not normal.
 * @param {{kind: string, weight: string, words: string, remedy: string, since_ms: number}[]} [bench.findings] All that stand at the bench.
 * @param {string} bench.mainChannel Name of the channel shown large: its alarms need not name it.
 * @param {{value: number | null, quality: number, reason: string} | null} bench.newest
 * @param {boolean} bench.isOld
 * @param {number | null} bench.ageMs Of the newest value; null without one.
 * @param {boolean} bench.linkLost The page has lost the bridge.
 * @param {(channel: string) => {unit: string, decimals: number}} bench.channel
 * @param {import('./calls.mjs').Asked} [bench.asked] What the bench's group said last.
 * @returns {Attention}
 */
export function attentionOf({asked, ...bench}) {
  const board = ofBoard(bench);
  return asked && asked.want !== 'nothing' && !bench.linkLost ? withGroup(board, asked) : board;
}

/**
 * A group that asks comes before all but an alarm that waits: it has stopped, and knows best. One that is done comes after
 * all that calls for a person. What then has no place of its own is told below.
 */
function withGroup(board, {want, sinceMs}) {
  const calls = board.level === 'notice' || board.level === 'urgent';
  const group = want === 'done' ? 'done' : 'asks for help';
  const below = [board.words, board.more].filter(Boolean).join(' · ');
  if (want === 'help' && board.level !== 'urgent') {
    return said('notice', '⚑', group, `since ${formatClock(sinceMs)} · ${below}`, board.alarm, board.age);
  }
  if (calls) return {...board, more: [`Group ${group}`, board.more].filter(Boolean).join(' · ')};
  return said('seen', '✓', group, below, null, board.age);
}

function ofBoard({status, alarms, findings = [], mainChannel, newest, isOld, ageMs, linkLost, channel}) {
  const age = ageMs === null ? '' : `${formatAge(ageMs)} old`;
  const ageIfOld = isOld ? age : '';
  const faults = ofWeight(findings, 'fault');
  const hints = ofWeight(findings, 'hint');
  const told = alarms.filter((alarm) => !isHeld(alarm)); // what is set aside calls nobody
  const waiting = foremost(told, 'unacknowledged');
  const words = (alarm) =>
    alarmWords(alarm, channel(alarm.channel), alarm.channel !== mainChannel) + others(told.length + faults.length - 1);
  if (linkLost) {
    return said('notice', '✕', 'not live', '', null, age);
  }
  const meant = waiting?.kind === 'finding' ? meantBy(waiting, [...faults, ...hints]) : null;
  const beside = told.length - 1 + faults.filter((one) => one !== meant).length;
  if (meant) return saidOfFinding(waiting, meant, others(beside), ageIfOld);
  if (waiting) return said('urgent', '!', words(waiting), waiting.words || waiting.advice, waiting.id, ageIfOld);
  if (LINK_TROUBLE.has(status.link)) return said('notice', '✕', status.words || status.link, status.remedy, null, age);
  const gone = foremost(told, 'returned unacknowledged') ?? foremost(told, 'latched unacknowledged');
  if (gone) return said('notice', '!', `was ${words(gone)}`, gone.words || gone.advice, gone.id, ageIfOld);
  if (faults.length) return saidOfFault(faults[0], findings.length, status, ageIfOld);
  if (isOld && !LINK_RESTING.has(status.link)) {
    return said('notice', '◔', 'silent', status.remedy, null, age);
  }
  if (newest && newest.value === null) return said('notice', '?', 'no value', newest.reason);
  if (newest && newest.quality === 2) return said('notice', '?', 'not to be trusted', newest.reason);
  if (status.link === 'open' && status.remedy) return said('notice', '?', status.words, status.remedy, null, ageIfOld);
  const seen = foremost(told, 'acknowledged');
  if (seen) return said('seen', '✓', words(seen), seen.advice || seen.words);
  const latched = foremost(told, 'latched acknowledged');
  if (latched) return said('seen', '✓', `was ${words(latched)}`, 'To be reset on the bench page');
  if (hints.length) return said('seen', '?', status.words, counted(hints.length, 'hints', hints[0].words), null, ageIfOld);
  if (newest && newest.quality === 1) return said('seen', '?', 'uncertain', newest.reason);
  return said('calm', '', status.words, '', null, ageIfOld);
}

/** The finding that an alarm on findings tells of: the foremost of its kind; of any, where the alarm has no name of its own. */
function meantBy({limit}, findings) {
  return findings.find(({kind}) => limit === 'finding' || kind === limit) ?? null;
}

/** An alarm on a finding says what is found, not that something is. */
function saidOfFinding({id, words: message, advice}, {kind, words, remedy}, more, age) {
  const isLong = words.length + more.length > MOST_LETTERS;
  const below = [isLong ? words : '', message || advice || remedy].filter(Boolean).join(' · ');
  return said('urgent', '!', (isLong ? findingName(kind) : words) + more, below, id, age);
}

/**
 * A fault in its own words, or by its name where these would be cut; below that the words, else how the bench is, unless that
 * is the trouble itself, and what to try.
 */
function saidOfFault({kind, words, remedy}, n, status, age) {
  const isLong = words.length > MOST_LETTERS;
  const calm = status.remedy ? '' : status.words;
  const below = [isLong ? words : calm, remedy].filter(Boolean).join(' · ');
  return said('notice', '✕', counted(n, 'findings', isLong ? findingName(kind) : words), below, null, age);
}

function said(level, symbol, words, more = '', alarm = null, age = '') {
  return {level, symbol, words: words ?? '', age, more: more ?? '', alarm};
}

/** The alarm of a state to deal with first: by priority, then the newest. */
function foremost(alarms, state) {
  let first = null;
  for (const alarm of alarms) {
    if (alarm.state !== state) continue;
    const earlier = first && PRIORITIES.indexOf(alarm.priority) - PRIORITIES.indexOf(first.priority);
    if (!first || earlier < 0 || (earlier === 0 && alarm.t_ms > first.t_ms)) first = alarm;
  }
  return first;
}

/**
 * The findings of a weight, the one that stands longest first: what came later may follow from it.
 * @template {{weight: string, since_ms: number}} F
 * @param {F[]} findings
 * @param {'fault' | 'hint'} weight
 * @returns {F[]}
 */
export function ofWeight(findings, weight) {
  return findings.filter((one) => one.weight === weight).sort((a, b) => a.since_ms - b.since_ms);
}

/** The number comes first: what is wrong may be a long sentence, whose end is cut on a card. */
function counted(n, plural, words) {
  return n > 1 ? `${n} ${plural}: ${words}` : words;
}

function others(n) {
  return n > 0 ? ` (and ${n} more)` : '';
}
