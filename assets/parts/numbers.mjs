/** Numbers, ages and clocks as words. Pure. */

const MINUS = '\u2212';
/** Stands where there is no value. */
export const NO_VALUE = '–';

/**
 * A number with a fixed number of decimals and a true minus sign.
 * @param {number | null | undefined} value
 * @param {number} decimals 0 to 20.
 * @returns {string} '–' without a value.
 */
export function formatNumber(value, decimals) {
  if (value === null || value === undefined || !Number.isFinite(value)) return NO_VALUE;
  const words = value.toFixed(Math.min(20, Math.max(0, decimals)));
  if (words.charCodeAt(0) !== 45) return words;
  const isZero = Number(words) === 0; // -0.04 with one decimal is 0.0, not −0.0
  return isZero ? words.slice(1) : MINUS + words.slice(1);
}

/**
 * A standard uncertainty to two significant digits.
 * @param {number | null | undefined} u
 * @returns {string} '–' without one.
 */
export function formatU(u) {
  if (u === null || u === undefined || !Number.isFinite(u)) return NO_VALUE;
  const rounded = Number(u.toPrecision(2));
  if (rounded === 0) return '0';
  return formatNumber(rounded, Math.min(9, Math.max(0, 1 - Math.floor(Math.log10(Math.abs(rounded))))));
}

/**
 * How long ago, in words short enough for a card.
 * @param {number} ms
 * @returns {string} "0 s", "42 s", "3 min 05 s", "2 h 10 min".
 */
export function formatAge(ms) {
  const seconds = Math.max(0, Math.floor(ms / 1000));
  if (seconds < 60) return `${seconds} s`;
  const minutes = Math.floor(seconds / 60);
  if (minutes < 60) return `${minutes} min ${two(seconds % 60)} s`;
  return `${Math.floor(minutes / 60)} h ${two(minutes % 60)} min`;
}

/**
 * A time of the session.
 * @param {number} ms Since the session's start.
 * @returns {string} "0:07", "12:45", "1:02:03".
 */
export function formatClock(ms) {
  const seconds = Math.max(0, Math.floor(ms / 1000));
  const minutes = Math.floor(seconds / 60);
  const hours = Math.floor(minutes / 60);
  return hours > 0 ? `${hours}:${two(minutes % 60)}:${two(seconds % 60)}` : `${minutes}:${two(seconds % 60)}`;
}

const two = (n) => String(n).padStart(2, '0');
