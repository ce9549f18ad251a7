/** A QR code (ISO/IEC 18004) as a drawing, from its modules. */

import {makeSvg} from './page.mjs';

const QUIET = 4; // modules left free on each side, as the standard asks

/**
 * @param {string[]} modules One string of 0 and 1 for each row, 1 is dark; as many rows as columns.
 * @returns {string} Outlines of the dark runs, in modules.
 */
export function darkPath(modules) {
  const runs = [];
  modules.forEach((row, y) => {
    for (const {0: run, index: x} of row.matchAll(/1+/g)) runs.push(`M${x + QUIET} ${y + QUIET}h${run.length}v1h${-run.length}z`);
  });
  return runs.join('');
}

/**
 * @param {string[]} modules
 * @param {string} label What a reader of the screen hears.
 * @returns {SVGElement} Dark on light whatever the page's colours are, with its quiet zone.
 */
export function createCode(modules, label) {
  const size = modules.length + 2 * QUIET;
  return makeSvg('svg', {
    class: 'code', viewBox: `0 0 ${size} ${size}`, role: 'img', 'aria-label': label, 'shape-rendering': 'crispEdges',
  }, makeSvg('rect', {class: 'code-light', width: size, height: size}), makeSvg('path', {class: 'code-dark', d: darkPath(modules)}));
}
