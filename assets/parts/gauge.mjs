/**
 * A straight scale like a rule: ticks below the line; above it band edges, limits and the pointer, which is as wide as the
 * uncertainty; the baseline's notch under the line. Widths are percentages and heights are ems, so that it fits any card
 * without being measured.
 */

import {isHigh, isOfValue} from './alarm-words.mjs';
import {makeSvg, setAttribute, write} from './page.mjs';
import {formatNumber} from './numbers.mjs';
import {placeOnScale, roundTicks, sideBeyond} from './scale.mjs';

const N_NUMBERS = 5; // few: read from the back row
const LINE = 1.1; // the rule's line, in em from the top
const NOTCH = 0.55;
const HEIGHT = LINE + NOTCH + 1.05;

/**
 * @typedef {{low: number, high: number, unit: string, decimals: number, baseline: number | null, edges: number[],
 *     limits: {kind: string, at: number}[]}} Scale A channel as the bridge describes it.
 */

/** @returns {{element: SVGElement, describe: (scale: Scale) => void, show: (value: number | null, u: number | null) => void}} */
export function createGauge() {
  const rule = makeSvg('g', {'aria-hidden': 'true'});
  const pointer = makeSvg('rect', {class: 'gauge-pointer', y: '0.1em', height: `${LINE - 0.15}em`, visibility: 'hidden'});
  const beyond = makeSvg('text', {class: 'gauge-beyond', y: `${LINE - 0.35}em`});
  const element = makeSvg('svg', {class: 'gauge', 'data-role': 'gauge', height: `${HEIGHT}em`, width: '100%'},
    rule, pointer, beyond);
  let scale = {low: 0, high: 1};
  return {
    element,
    describe(described) {
      scale = described;
      rule.replaceChildren(...ruleParts(described));
    },
    show(value, u) {
      showPointer(pointer, value, u, scale);
      showBeyond(beyond, sideBeyond(value, scale));
    },
  };
}

function ruleParts(scale) {
  const {numbered, between, decimals} = roundTicks(scale.low, scale.high, N_NUMBERS);
  const percent = (value) => `${100 * placeOnScale(value, scale)}%`;
  const inside = (value) => value !== null && value >= scale.low && value <= scale.high;
  const upright = (value, from, to, cls) =>
    makeSvg('line', {class: cls, x1: percent(value), x2: percent(value), y1: `${from}em`, y2: `${to}em`});
  return [
    ...between.map((value) => upright(value, LINE, LINE + 0.25, 'gauge-tick')),
    ...numbered.map((value) => upright(value, LINE, LINE + 0.5, 'gauge-tick gauge-tick-numbered')),
    ...numbered.map((value) =>
      makeSvg('text', {class: 'gauge-number', x: percent(value), y: `${HEIGHT - 0.2}em`}, formatNumber(value, decimals))),
    makeSvg('line', {class: 'gauge-line', x1: '0%', x2: '100%', y1: `${LINE}em`, y2: `${LINE}em`}),
    ...scale.edges.filter(inside).map((value) => upright(value, LINE - 0.45, LINE, 'gauge-edge')),
    ...scale.limits.filter((one) => isOfValue(one) && inside(one.at)).map((one) => limitFlag(percent(one.at), isHigh(one))),
    ...(inside(scale.baseline) ? [notch(percent(scale.baseline))] : []),
  ];
}

/** A post with a foot that points to the side that is not allowed. */
function limitFlag(x, isAbove) {
  const out = isAbove ? 0.35 : -0.35;
  const flag = makeSvg('svg', {x, y: '0', overflow: 'visible', class: 'gauge-limit'});
  flag.append(
    makeSvg('line', {x1: '0', x2: '0', y1: '0', y2: `${LINE}em`}),
    makeSvg('line', {x1: '0', x2: `${out}em`, y1: '0.06em', y2: '0.06em'}));
  return flag;
}

function notch(x) {
  // A path knows no em: a small drawing of its own, scaled by its box.
  const box = makeSvg('svg', {x, y: `${LINE}em`, overflow: 'visible', class: 'gauge-baseline'});
  const shape = {x: '-0.35em', y: '0', width: '0.7em', height: `${NOTCH}em`, viewBox: '0 0 8 7', preserveAspectRatio: 'none'};
  box.append(makeSvg('svg', shape, makeSvg('path', {d: 'M4 0L8 7H0z'})));
  return box;
}

function showPointer(pointer, value, u, scale) {
  const middle = sideBeyond(value, scale) === '' ? placeOnScale(value, scale) : null;
  setAttribute(pointer, 'visibility', middle === null ? 'hidden' : null);
  if (middle === null) return;
  const half = Number.isFinite(u) && u > 0 ? u : 0;
  const left = placeOnScale(value - half, scale);
  const width = Math.max(0.0001, placeOnScale(value + half, scale) - left); // its outline keeps it visible
  setAttribute(pointer, 'x', `${(100 * left).toFixed(2)}%`);
  setAttribute(pointer, 'width', `${(100 * width).toFixed(2)}%`);
}

function showBeyond(beyond, side) {
  setAttribute(beyond, 'x', side === 'above' ? '100%' : '0%');
  setAttribute(beyond, 'data-side', side || null);
  write(beyond, side === 'above' ? 'above ▶' : side === 'below' ? '◀ below' : '');
}
