/** The choice of a calibration's fit. */

import {make, setAttribute} from './page.mjs';

const FITS = {
  offset: ['Offset', 'one point or more'], line: ['Line', 'two points or more'], quadratic: ['Quadratic', 'three points or more'],
};

/**
 * @param {(fit: 'offset' | 'line' | 'quadratic', button: HTMLElement) => void} choose
 * @returns {{element: HTMLElement, show: (fit: string | null) => void}} show: which one holds.
 */
export function createFits(choose) {
  const element = make('div', {class: 'fits', role: 'group', 'aria-label': 'Fit'});
  for (const [fit, [words, needs]] of Object.entries(FITS)) {
    const button = make('button', {type: 'button', 'data-fit': fit, 'aria-pressed': 'false'},
      words, make('span', {class: 'soft fit-needs'}, needs));
    button.addEventListener('click', () => choose(fit, button));
    element.append(button);
  }
  return {
    element,
    show(fit) {
      for (const button of element.children) setAttribute(button, 'aria-pressed', String(button.dataset.fit === fit));
    },
  };
}
