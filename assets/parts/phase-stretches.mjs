/** The stretches of the lesson's phases, for every picture over time. Pure. */

/**
 * @typedef {{t_ms: number, phase: string}} PhaseStart As the bridge tells them, in the order of their times; "" is none.
 * @typedef {{phase: string, fromMs: number, toMs: number, isOdd: boolean, isBegun: boolean}} PhaseStretch
 *     isOdd: every other one, to be shaded the other way; isBegun: it begins within what is shown.
 */

/**
 * @param {PhaseStart[]} starts
 * @param {{fromMs: number, toMs: number}} stretch What is shown.
 * @returns {PhaseStretch[]} The named phases in it, cut off at its ends.
 */
export function phaseStretches(starts, {fromMs, toMs}) {
  const found = [];
  let nNamed = 0;
  starts.forEach(({t_ms: ms, phase}, i) => {
    if (!phase) return;
    const isOdd = nNamed % 2 === 1;
    nNamed += 1;
    const from = Math.max(fromMs, ms);
    const to = Math.min(toMs, starts[i + 1]?.t_ms ?? Infinity);
    if (to > from) found.push({phase, fromMs: from, toMs: to, isOdd, isBegun: ms >= fromMs});
  });
  return found;
}

/**
 * @param {PhaseStart[]} starts
 * @param {number} ms
 * @returns {string} The phase of that instant, "" for none.
 */
export function phaseAt(starts, ms) {
  let phase = '';
  for (const start of starts) {
    if (start.t_ms > ms) break;
    phase = start.phase;
  }
  return phase;
}

/**
 * Where in a stretch the bands of now hold: their edges mean nothing elsewhere.
 * @param {{phase_bands?: {phases: string[]}[]}} channel As the bridge describes it.
 * @param {PhaseStart[]} starts
 * @param {{fromMs: number, toMs: number}} stretch
 * @returns {{fromMs: number, toMs: number}[]}
 */
export function stretchesOfBands({phase_bands: sets = []}, starts, {fromMs, toMs}) {
  if (!sets.length) return [{fromMs, toMs}];
  const setOf = (phase) => Math.max(0, sets.findIndex(({phases}) => phases.includes(phase)));
  const now = setOf(starts.at(-1)?.phase ?? '');
  return starts
    .map(({t_ms: ms, phase}, i) => ({phase, fromMs: Math.max(fromMs, ms), toMs: Math.min(toMs, starts[i + 1]?.t_ms ?? Infinity)}))
    .filter((one) => setOf(one.phase) === now && one.toMs > one.fromMs)
    .map(({fromMs: from, toMs: to}) => ({fromMs: from, toMs: to}));
}

/**
 * What the bands are called at an instant: phases may have bands of their own.
 * @param {{edge_names: string[], phase_bands?: {phases: string[], names: string[]}[]}} channel As the bridge describes it.
 * @param {PhaseStart[]} starts
 * @param {number} ms
 * @returns {string[]}
 */
export function bandNamesAt({edge_names: names, phase_bands: sets = []}, starts, ms) {
  if (!sets.length) return names;
  const phase = phaseAt(starts, ms);
  const own = sets.find(({phases}) => phases.includes(phase));
  return (own ?? sets[0]).names;
}
