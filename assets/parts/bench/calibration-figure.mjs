/** What Plotly is told to draw of a calibration: reference over indication with the fit, the residuals below. Pure. */

import {formatNumber} from '../numbers.mjs';
import {roundTicks} from '../scale.mjs';
import {plain} from './figure.mjs';

const N_CURVE = 60; // pieces of a drawn quadratic
const DEGREES = {offset: 0, line: 1, quadratic: 2};
const UPPER = [0.42, 1]; // shares of the height
const LOWER = [0, 0.3];

/**
 * @typedef {{reference: number, indication: number, u_reference: number | null, u_indication: number | null,
 *     fitted: number, residual: number}} Point As the bridge tells it.
 */

/**
 * The fit between and beside its points. It is the polynomial through its own fitted values, so that nothing needs to be
 * known of how its coefficients are counted; an offset alone runs one up for one along.
 * @param {Point[]} points
 * @param {'offset' | 'line' | 'quadratic'} fit
 * @returns {((indication: number) => number) | null} null when the points are too few or too close.
 */
export function curveOf(points, fit) {
  const sorted = [...new Map(points.map((one) => [one.indication, one])).values()].sort((a, b) => a.indication - b.indication);
  const degree = DEGREES[fit] ?? 1;
  if (sorted.length < Math.max(1, degree + 1)) return null;
  if (degree === 0) return (x) => sorted[0].fitted + (x - sorted[0].indication);
  const nodes = degree === 1 ? [sorted[0], sorted.at(-1)] : [sorted[0], middleOf(sorted), sorted.at(-1)];
  return (x) => nodes.reduce((sum, node) => sum + node.fitted * nodes.reduce(
    (product, other) => (other === node ? product : product * (x - other.indication) / (node.indication - other.indication)), 1), 0);
}

/** The inner point nearest to the middle: there the curve is held best. */
function middleOf(sorted) {
  const middle = (sorted[0].indication + sorted.at(-1).indication) / 2;
  return sorted.slice(1, -1).reduce((best, one) =>
    (Math.abs(one.indication - middle) < Math.abs(best.indication - middle) ? one : best));
}

/**
 * @param {object} shown
 * @param {Point[]} shown.points
 * @param {'offset' | 'line' | 'quadratic'} shown.fit
 * @param {string} shown.unit
 * @param {{width: number, height: number, font: number}} shown.box px
 * @param {Record<string, string>} shown.colours ink, soft, line, faint, curve, card
 * @param {string} shown.font
 * @returns {{data: object[], layout: object}}
 */
export function calibrationFigure({points, fit, unit, box, colours, font}) {
  const across = rangeOf(points.map(({indication, u_indication: u}) => [indication, u ?? 0]));
  const curve = curveOf(points, fit);
  const up = rangeOf(points.flatMap(({reference, u_reference: u, fitted}) => [[reference, u ?? 0], [fitted, 0]]));
  const off = rangeOf([[0, 0], ...points.map((one) => [one.residual, barOf(one)])]);
  const dots = {type: 'scatter', mode: 'markers', marker: {color: colours.ink, size: 9, symbol: 'circle'}, hoverinfo: 'skip'};
  const bars = (sizes) => ({type: 'data', array: sizes, visible: sizes.some((one) => one > 0), color: colours.ink, thickness: 1.5, width: 4});
  const x = points.map(({indication}) => indication);
  const data = [
    {...curveTrace(curve, across), line: {color: colours.soft, width: 2}},
    {
      ...dots, x, y: points.map(({reference}) => reference),
      error_y: bars(points.map(({u_reference: u}) => u ?? 0)), error_x: bars(points.map(({u_indication: u}) => u ?? 0)),
    },
    {
      type: 'scatter', mode: 'lines', x: [across.low, across.high], y: [0, 0], yaxis: 'y2', hoverinfo: 'skip',
      line: {color: colours.soft, width: 2},
    },
    {...dots, x, y: points.map(({residual}) => residual), yaxis: 'y2', error_y: bars(points.map(barOf))},
  ];
  return {data, layout: layoutOf({across, up, off, unit, box, colours, font})};
}

/** A residual is known as well as its two numbers together. */
function barOf({u_reference: one, u_indication: other}) {
  return Math.hypot(one ?? 0, other ?? 0);
}

function curveTrace(curve, {low, high}) {
  const x = curve ? Array.from({length: N_CURVE + 1}, (_, i) => low + (high - low) * i / N_CURVE) : [];
  return {type: 'scatter', mode: 'lines', hoverinfo: 'skip', x, y: x.map((one) => curve(one))};
}

/** Ends around values with their bars, with room; never without extent. */
function rangeOf(pairs) {
  const low = Math.min(...pairs.map(([value, bar]) => value - bar));
  const high = Math.max(...pairs.map(([value, bar]) => value + bar));
  const room = Math.max(0.08 * (high - low), 1e-6 * Math.max(1, Math.abs(low), Math.abs(high)));
  const least = high > low ? 0 : 0.5;
  return {low: low - room - least, high: high + room + least};
}

function layoutOf({across, up, off, unit, box, colours, font}) {
  const {width, height, font: size} = box;
  const named = (words) => plain(unit ? `${words}, ${unit}` : words);
  const axis = (range, room, words, least = 3) => {
    const {numbered, decimals} = roundTicks(range.low, range.high, Math.max(least, Math.floor(room)));
    return {
      range: [range.low, range.high], tickmode: 'array', tickvals: numbered,
      ticktext: numbered.map((value) => formatNumber(value, decimals)), ticks: 'outside', tickcolor: colours.line,
      linecolor: colours.line, showline: true, zeroline: false, gridcolor: colours.faint, tickfont: {size}, fixedrange: true,
      title: {text: words, font: {size, color: colours.soft}, standoff: 0.5 * size},
    };
  };
  const lines = height / size;
  return {
    width, height, autosize: false, margin: {l: 5.5 * size, r: size, t: 0.6 * size, b: 3.4 * size, pad: 0},
    paper_bgcolor: 'transparent', plot_bgcolor: 'transparent', showlegend: false, hovermode: false, dragmode: false,
    font: {family: font, size, color: colours.soft},
    xaxis: {...axis(across, width / size / 6, named('Indication')), anchor: 'y2'},
    yaxis: {...axis(up, 0.58 * lines / 2.6, named('Reference')), domain: UPPER},
    yaxis2: {...axis(off, 0.3 * lines / 2.6, named('Residual'), 5), domain: LOWER},
  };
}
