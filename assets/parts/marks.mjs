/** A bench's mark: its shape in its colour, with an outline that stands out on any ground. */

import {makeSvg} from './page.mjs';

/** Outlines in a box of 24 by 24, alike in weight to the eye. */
const SHAPES = {
  circle: 'M12 3a9 9 0 1 0 0 18a9 9 0 1 0 0-18z',
  square: 'M4 4h16v16h-16z',
  triangle: 'M12 2.5L22.5 20.5h-21z',
  diamond: 'M12 1.5L22.5 12L12 22.5L1.5 12z',
  cross: 'M8.5 2.5h7v6h6v7h-6v6h-7v-6h-6v-7h6z',
  bar: 'M8 1.5h8v21h-8z',
  ring: 'M12 2.5a9.5 9.5 0 1 0 0 19a9.5 9.5 0 1 0 0-19zM12 8.5a3.5 3.5 0 1 1 0 7a3.5 3.5 0 1 1 0-7z',
  star: 'M12 1l3.2 7.4l8 .8l-6 5.4l1.7 7.9l-6.9-4.1l-6.9 4.1l1.7-7.9l-6-5.4l8-.8z',
};

/** The Okabe-Ito set, as tokens. */
const COLOURS = new Set([
  'orange', 'sky blue', 'bluish green', 'yellow', 'blue', 'vermillion', 'reddish purple', 'black',
]);

/**
 * @param {string} colour A name of the Okabe-Ito set.
 * @returns {string} The token, for example "--mark-sky-blue"; black's for a name that is none.
 */
export function colourToken(colour) {
  return `--mark-${(COLOURS.has(colour) ? colour : 'black').replace(' ', '-')}`;
}

/**
 * @param {{shape: string, colour: string}} bench
 * @returns {SVGElement} As large as its font; named for those who do not see it.
 */
export function createMark({shape, colour}) {
  const known = Object.hasOwn(SHAPES, shape) ? shape : 'circle';
  const outline = makeSvg('path', {d: SHAPES[known], 'fill-rule': 'evenodd'});
  outline.style.fill = `var(${colourToken(colour)})`;
  return makeSvg('svg', {
    class: 'mark', viewBox: '0 0 24 24', role: 'img', 'aria-label': `Mark: ${colour} ${known}`, 'data-role': 'mark',
  }, outline);
}
