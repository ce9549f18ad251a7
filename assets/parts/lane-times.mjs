/** Times along a lane: pure, so that what a key does can be tested without a page. */

const STEPS = [0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600]; // s, between ticks
const TICKS = 8;
const KEY_PARTS = 500; // of what is seen: how far an arrow key goes, at least

/**
 * @param {number} seconds
 * @param {[number, number]} view Begin and end of what is seen, in s.
 * @returns {number} 0 at the begin, 1 at the end; beyond them outside.
 */
export function placeIn(seconds, [since, until]) {
  return until > since ? (seconds - since) / (until - since) : 0;
}

/** The other way round. */
export function secondsIn(place, [since, until]) {
  return since + place * (until - since);
}

/** To hundredths where little is seen, to tenths where much: no more than a hand can mean. */
export function roundedFor(seconds, [since, until]) {
  const per = until - since > 120 ? 10 : 100;
  return Math.round(seconds * per) / per;
}

/** How far an arrow key goes, in s: a step that a person can say. */
export function keyStep([since, until]) {
  return STEPS.find((step) => step >= (until - since) / KEY_PARTS) ?? STEPS.at(-1);
}

/**
 * @param {{key: string, shiftKey: boolean}} event
 * @param {number} at Where the line is.
 * @param {[number, number]} view
 * @returns {number | null} Where the key moves it; null for a key that moves nothing.
 */
export function movedByKey({key, shiftKey}, at, view) {
  const step = keyStep(view) * (shiftKey ? 10 : 1);
  const by = {
    ArrowRight: step, ArrowUp: step, ArrowLeft: -step, ArrowDown: -step,
    PageUp: 10 * keyStep(view), PageDown: -10 * keyStep(view),
  }[key];
  if (by !== undefined) return Math.round((at + by) * 100) / 100;
  return {Home: view[0], End: view[1]}[key] ?? null;
}

/**
 * @returns {{seconds: number, words: string}[]} Ticks on whole steps, with "s" or as min:s.
 */
export function ticksOf(since, until) {
  const step = STEPS.find((one) => (until - since) / one <= TICKS) ?? STEPS.at(-1);
  const found = [];
  for (let k = Math.ceil(since / step); k * step <= until; k += 1) {
    const seconds = Math.round(k * step * 100) / 100;
    found.push({seconds, words: until - since > 120 ? clock(seconds) : `${seconds} s`});
  }
  return found;
}

function clock(seconds) {
  const whole = Math.round(Math.abs(seconds));
  return `${seconds < 0 ? '−' : ''}${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}
