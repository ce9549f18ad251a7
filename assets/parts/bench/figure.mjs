/** What Plotly is told to draw of a channel's past, and what is named beside it. Pure. */

import {isOfValue} from '../alarm-words.mjs';
import {formatClock, formatNumber} from '../numbers.mjs';
import {stretchesOfBands} from '../phase-stretches.mjs';
import {roundTicks} from '../scale.mjs';
import {bandWords} from '../strip.mjs';
import {timeTicks} from './stretch.mjs';

/**
 * @typedef {[number, number, number] | null} Row [t_ms, least, greatest]; null is a gap.
 * @typedef {{low: number, high: number}} Range
 */

const POINTS_APART_PX = 10; // readings farther apart are shown as points too

/**
 * The ends of the upright axis.
 * @param {Row[]} rows
 * @param {{low: number, high: number, decimals: number}} channel
 * @param {number} u Standard uncertainty, 0 for none.
 * @param {boolean} fits Whether to the curve alone; else the gauge's scale, widened to what was read.
 * @returns {Range}
 */
export function rangeOf(rows, channel, u, fits) {
  let [low, high] = [Infinity, -Infinity];
  for (const row of rows) {
    if (!row) continue;
    low = Math.min(low, row[1] - u);
    high = Math.max(high, row[2] + u);
  }
  if (!fits || low > high) {
    low = Math.min(low, channel.low);
    high = Math.max(high, channel.high);
  }
  const least = 4 * 10 ** -channel.decimals; // a few last digits: noise is not blown up to the whole height
  const room = Math.max(0.06 * (high - low), (least - (high - low)) / 2, 1e-9);
  return {low: low - room, high: high + room};
}

/**
 * @param {object} shown
 * @param {Row[]} shown.rows
 * @param {{fromMs: number, toMs: number}} shown.stretch
 * @param {object} shown.channel As the bridge describes it.
 * @param {number} shown.u Standard uncertainty of the newest value, 0 when none is known.
 * @param {Range} shown.range
 * @param {{width: number, height: number, left: number, right: number, top: number, bottom: number, font: number}} shown.box px
 * @param {Record<string, string>} shown.colours ink, soft, line, faint, curve, card
 * @param {string} shown.font
 * @param {number[]} shown.markersMs
 * @param {import('../phase-stretches.mjs').PhaseStart[]} [shown.phases]
 * @returns {{data: object[], layout: object}}
 */
export function figureOf(shown) {
  const {rows, stretch, channel, u, range, box, colours} = shown;
  const width = box.width - box.left - box.right;
  const curve = {
    ...curveOf(rows, channel), mode: 'lines', line: {color: colours.curve, width: 2, shape: 'linear'}, hoverinfo: 'text',
  };
  const points = {
    ...pointsOf(rows, width), mode: 'markers', marker: {color: colours.curve, size: 5}, hoverinfo: 'skip',
  };
  const data = [curve, points].map((trace) => ({type: 'scatter', showlegend: false, ...trace}));
  data.unshift(...levelsOf(channel, range, stretch, colours, shown.phases ?? []));
  if (u > 0) data.unshift(uncertaintyOf(rows, u, colours));
  return {data, layout: layoutOf(shown, width, markerLines(shown.markersMs, stretch, colours))};
}

function layoutOf({stretch, range, box, colours, font}, width, shapes) {
  const across = timeTicks(stretch, Math.max(2, Math.floor(width / (6 * box.font))));
  const up = roundTicks(range.low, range.high, Math.max(3, Math.floor((box.height - box.top - box.bottom) / (2.2 * box.font))));
  const axis = {
    tickmode: 'array', ticks: 'outside', tickcolor: colours.line, linecolor: colours.line, showline: true, zeroline: false,
    gridcolor: colours.faint, tickfont: {size: box.font},
  };
  return {
    width: box.width, height: box.height, margin: {l: box.left, r: box.right, t: box.top, b: box.bottom, pad: 0},
    autosize: false, paper_bgcolor: 'transparent', plot_bgcolor: 'transparent', showlegend: false, hovermode: 'closest',
    font: {family: font, size: box.font, color: colours.soft}, shapes, uirevision: 'none',
    hoverlabel: {bgcolor: colours.card, bordercolor: colours.line, font: {color: colours.ink, size: box.font}},
    xaxis: {
      ...axis, range: [stretch.fromMs, stretch.toMs], tickvals: across.atMs, showgrid: false,
      ticktext: across.atMs.map((ms) => clockWords(ms, across.hasTenths)),
    },
    yaxis: {
      ...axis, range: [range.low, range.high], fixedrange: true, tickvals: up.numbered,
      ticktext: up.numbered.map((value) => formatNumber(value, up.decimals)),
    },
  };
}

/** @returns {string} "12:45" or "12:45.3". */
export function clockWords(ms, hasTenths) {
  return hasTenths ? `${formatClock(ms)}.${Math.floor((Math.round(ms) % 1000) / 100)}` : formatClock(ms);
}

/** One curve through the greatest and least value of each row; gaps break it. */
function curveOf(rows, {unit, decimals}) {
  const [x, y, text] = [[], [], []];
  const add = (ms, value) => {
    x.push(ms);
    y.push(value);
    text.push(value === null ? '' : `${clockWords(ms, true)}  ${formatNumber(value, decimals)} ${plain(unit)}`);
  };
  for (const row of rows) {
    if (!row) add(null, null);
    else {
      add(row[0], row[2]);
      if (row[1] !== row[2]) add(row[0], row[1]);
    }
  }
  return {x, y, text};
}

/** Plotly reads marks in a text; a unit that a board printed is no mark. */
export function plain(text) {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;');
}

/** Readings that no line joins, or all when there is room. */
function pointsOf(rows, width) {
  const isSparse = rows.length * POINTS_APART_PX < width;
  const chosen = rows.filter((row, i) => row && (isSparse || (!rows[i - 1] && !rows[i + 1])));
  return {x: chosen.map(([ms]) => ms), y: chosen.map(([, low, high]) => (low + high) / 2)};
}

/** The curve, as wide as its uncertainty: a closed outline for each piece between two gaps. */
function uncertaintyOf(rows, u, colours) {
  const [x, y] = [[], []];
  let piece = [];
  const close = () => {
    if (piece.length > 1) {
      for (const row of piece) x.push(row[0]) && y.push(row[2] + u);
      for (const row of piece.toReversed()) x.push(row[0]) && y.push(row[1] - u);
      x.push(null);
      y.push(null);
    }
    piece = [];
  };
  for (const row of rows) row ? piece.push(row) : close();
  close();
  return {
    type: 'scatter', mode: 'lines', x, y, fill: 'toself', fillcolor: colours.faint, line: {width: 0}, hoverinfo: 'skip',
    showlegend: false,
  };
}

/**
 * Band edges, limits and the baseline, right across. As traces, not as shapes: the grid would lie above these, and a layer
 * of shapes between grid and curve keeps old ones at the next drawing.
 */
function levelsOf(channel, range, stretch, colours, phases) {
  const across = (values, line, stretches = [stretch]) => {
    const inside = values.filter((value) => value !== null && value >= range.low && value <= range.high);
    return {
      type: 'scatter', mode: 'lines', line, hoverinfo: 'skip', showlegend: false,
      x: inside.flatMap(() => stretches.flatMap(({fromMs, toMs}) => [fromMs, toMs, null])),
      y: inside.flatMap((value) => stretches.flatMap(() => [value, value, null])),
    };
  };
  return [
    across(channel.edges, {color: colours.line, width: 1, dash: '2px,4px'}, stretchesOfBands(channel, phases, stretch)),
    across(channel.limits.filter(isOfValue).map(({at}) => at), {color: colours.ink, width: 2}),
    across([channel.baseline], {color: colours.soft, width: 1.5, dash: '9px,4px'}),
  ].filter(({x}) => x.length > 0);
}

/** A thin line for each marker. */
function markerLines(markersMs, {fromMs, toMs}, colours) {
  const line = {color: colours.soft, width: 1};
  return markersMs
    .filter((ms) => ms >= fromMs && ms <= toMs)
    .map((ms) => ({type: 'line', yref: 'paper', y0: 0, y1: 1, x0: ms, x1: ms, line}));
}

/**
 * What stands beside the curve, from the top down: bands, limits, baseline.
 * @param {object} channel As the bridge describes it.
 * @param {Range} range
 * @returns {{words: string, value: number, kind: 'band' | 'limit' | 'baseline'}[]}
 */
export function namesBeside(channel, range) {
  const {edges, edge_names: names, limits, baseline, decimals} = channel;
  const found = [];
  for (let band = 0; band < names.length && names.length > 1; band++) {
    const from = Math.max(range.low, band === 0 ? -Infinity : edges[band - 1]);
    const to = Math.min(range.high, band === edges.length ? Infinity : edges[band]);
    if (to > from) found.push({words: bandWords(names, band), value: (from + to) / 2, kind: 'band'});
  }
  for (const {limit, at} of limits.filter(isOfValue)) found.push({words: `${limit} limit ${formatNumber(at, decimals)}`, value: at, kind: 'limit'});
  if (baseline !== null) {
    found.push({words: `baseline ${formatNumber(baseline, decimals)}`, value: baseline, kind: 'baseline'});
  }
  return found.filter(({value}) => value >= range.low && value <= range.high).sort((a, b) => b.value - a.value);
}

/**
 * What lies outside the upright axis, in words.
 * @param {object} channel
 * @param {Range} range
 * @returns {string} "" when all is to be seen.
 */
export function wordsBeyond({limits, baseline, decimals}, range) {
  const marks = limits.filter(isOfValue).map(({limit, at}) => ({words: `the ${limit} limit`, value: at}));
  if (baseline !== null) marks.push({words: 'the baseline', value: baseline});
  return marks
    .filter(({value}) => value < range.low || value > range.high)
    .map(({words, value}) => `${words}, ${formatNumber(value, decimals)}, lies ${value > range.high ? 'above' : 'below'}`)
    .join('; ');
}
