/** Arithmetic of a straight scale. Pure. */

/**
 * Where a value stands on a scale.
 * @param {number | null} value In the channel's unit.
 * @param {{low: number, high: number}} scale The ends, in the same unit, low < high.
 * @returns {number | null} 0 at the low end to 1 at the high end, held inside; null without a value.
 */
export function placeOnScale(value, {low, high}) {
  if (value === null || !Number.isFinite(value) || !(high > low)) return null; // no value must not look like zero
  return Math.min(1, Math.max(0, (value - low) / (high - low)));
}

/**
 * Beyond which end a value lies.
 * @param {number | null} value
 * @param {{low: number, high: number}} scale
 * @returns {'' | 'below' | 'above'}
 */
export function sideBeyond(value, {low, high}) {
  if (value === null || !Number.isFinite(value)) return '';
  if (value < low) return 'below';
  return value > high ? 'above' : '';
}

/**
 * Round numbers for the ticks of a scale.
 * @param {number} low
 * @param {number} high
 * @param {number} nMost The most ticks with numbers.
 * @returns {{numbered: number[], between: number[], decimals: number}} Ticks with numbers, ticks between them, and how
 *     many decimals the numbers need.
 */
export function roundTicks(low, high, nMost) {
  if (!(high > low) || !Number.isFinite(high - low)) return {numbered: [], between: [], decimals: 0};
  const {step, parts} = roundStep((high - low) / Math.max(1, nMost - 1));
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const numbered = [];
  const between = [];
  const fine = step / parts;
  const last = Math.floor(high / fine + 1e-6);
  for (let i = Math.ceil(low / fine - 1e-6); i <= last && i - last > -1000; i++) {
    if (i % parts === 0) numbered.push((i / parts) * step);
    else between.push(i * fine);
  }
  return {numbered, between, decimals};
}

/** The round step that is not smaller, and into how many parts it is divided. */
function roundStep(least) {
  const power = 10 ** Math.floor(Math.log10(least) + 1e-9);
  for (const [factor, parts] of [[1, 5], [2, 4], [5, 5]]) {
    if (factor * power >= least * (1 - 1e-9)) return {step: factor * power, parts};
  }
  return {step: 10 * power, parts: 5};
}
