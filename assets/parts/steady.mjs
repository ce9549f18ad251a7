/** Whether a channel is steady, in words. Pure. */

import {formatNumber} from './numbers.mjs';

/**
 * @param {{steady: boolean, mean: number | null, u: number | null, n: number, words: string} | null} steady As the bridge
 *     tells it; null while unknown.
 * @param {{unit: string, decimals: number} | null} channel
 * @returns {{symbol: string, words: string, mean: string, n: number}} mean: "36.62 ± 0.03 °C" of `n` readings, "" without one.
 */
export function steadyWords(steady, channel) {
  if (!steady || !channel) return {symbol: '…', words: 'not known yet whether it is steady', mean: '', n: 0};
  const {mean, u, n} = steady;
  const places = channel.decimals + 1; // a mean is known better than one reading
  const range = u === null ? '' : ` ± ${formatNumber(u, places)}`;
  const number = mean === null ? '' : `${formatNumber(mean, places)}${range} ${channel.unit}`.trim();
  return {symbol: steady.steady ? '✓' : '…', words: steady.words, mean: number, n};
}
