/** The stretch of session time that a history shows. Pure. */

export const SHORTEST_MS = 1000;
export const TWO_MINUTES_MS = 120_000;

/**
 * @typedef {{fromMs: number, toMs: number}} Stretch
 * @typedef {{kind: 'last', ms: number} | {kind: 'whole'} | {kind: 'fixed', fromMs: number, toMs: number}} View
 * last: ends now and moves on; whole: from the session's start to now; fixed: stays where it is.
 */

/**
 * @param {View} view
 * @param {number} nowMs
 * @returns {Stretch} At least `SHORTEST_MS` long.
 */
export function stretchOf(view, nowMs) {
  if (view.kind === 'fixed') return {fromMs: view.fromMs, toMs: view.toMs};
  const toMs = Math.max(SHORTEST_MS, nowMs);
  if (view.kind === 'whole') return {fromMs: 0, toMs};
  return {fromMs: Math.max(0, toMs - view.ms), toMs};
}

/**
 * The view of a stretch that a person chose: one that reaches now goes on following.
 * @param {Stretch} stretch
 * @param {number} nowMs
 * @returns {View}
 */
export function viewOf({fromMs, toMs}, nowMs) {
  const span = Math.max(SHORTEST_MS, toMs - fromMs);
  if (toMs >= nowMs) {
    return span >= nowMs ? {kind: 'whole'} : {kind: 'last', ms: span};
  }
  const from = Math.max(0, Math.min(fromMs, toMs - span));
  return {kind: 'fixed', fromMs: from, toMs: from + span};
}

/**
 * Nearer or farther: about the middle; a view that follows keeps its end.
 * @param {View} view
 * @param {number} factor The new span by the old one; below 1 shows less time.
 * @param {number} nowMs
 * @returns {View}
 */
export function zoomed(view, factor, nowMs) {
  const {fromMs, toMs} = stretchOf(view, nowMs);
  const span = Math.max(SHORTEST_MS, (toMs - fromMs) * factor);
  if (view.kind !== 'fixed') return viewOf({fromMs: toMs - span, toMs}, nowMs);
  const middle = (fromMs + toMs) / 2;
  const from = Math.max(0, middle - span / 2);
  if (from + span < nowMs) return viewOf({fromMs: from, toMs: from + span}, nowMs);
  return factor > 1 ? viewOf({fromMs: nowMs - span, toMs: nowMs}, nowMs) : {kind: 'fixed', fromMs: from, toMs: from + span};
}

/**
 * Earlier or later, by a share of the span.
 * @param {View} view
 * @param {number} share Below 0: earlier.
 * @param {number} nowMs
 * @returns {View}
 */
export function moved(view, share, nowMs) {
  const {fromMs, toMs} = stretchOf(view, nowMs);
  const span = toMs - fromMs;
  const from = Math.max(0, Math.min(fromMs + share * span, nowMs - span));
  if (view.kind !== 'fixed' && from >= fromMs) return view;
  return viewOf({fromMs: from, toMs: from + span}, nowMs);
}

const STEPS_S = [0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14_400, 28_800, 86_400];

/**
 * Round times for an axis.
 * @param {Stretch} stretch
 * @param {number} nMost
 * @returns {{atMs: number[], hasTenths: boolean}}
 */
export function timeTicks({fromMs, toMs}, nMost) {
  const least = (toMs - fromMs) / 1000 / Math.max(1, nMost);
  const step = 1000 * (STEPS_S.find((one) => one >= least) ?? Math.ceil(least / 86_400) * 86_400);
  const atMs = [];
  for (let i = Math.ceil(fromMs / step - 1e-9); i * step <= toMs && atMs.length < 100; i++) atMs.push(i * step);
  return {atMs, hasTenths: step < 1000};
}

/**
 * Push labels apart so that none covers another, each as near to its place as can be.
 * @param {number[]} places In pixels, rising.
 * @param {number} apart
 * @param {{from: number, to: number}} room
 * @returns {number[]} New places, rising.
 */
export function spread(places, apart, {from, to}) {
  const found = [];
  for (const place of places) found.push(Math.max(place, found.length ? found.at(-1) + apart : from));
  let most = to;
  for (let i = found.length - 1; i >= 0 && found[i] > most; i--) {
    found[i] = most;
    most -= apart;
  }
  return found;
}
