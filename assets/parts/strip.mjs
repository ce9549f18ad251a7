/** The band strip: one step per band, filled up to the band that is held, with its name in words. */

import {make, setAttribute, write} from './page.mjs';

/**
 * What a band is called.
 * @param {string[]} names One for each band, "" where the lesson names none.
 * @param {number | null} band
 * @returns {string} "" without a band.
 */
export function bandWords(names, band) {
  if (band === null || band === undefined) return '';
  return names[band] || `band ${band}`;
}

/** @returns {{element: HTMLElement, describe: (names: string[]) => void, show: (band: number | null) => void}} */
export function createStrip() {
  const steps = make('span', {class: 'strip-steps', 'aria-hidden': 'true'});
  const words = make('span', {class: 'strip-words', 'data-role': 'band'});
  const element = make('div', {class: 'strip', 'data-role': 'strip'}, steps, words);
  let names = [];
  return {
    element,
    describe(described) {
      names = described;
      element.hidden = names.length < 2;
      const letters = Math.max(1, ...names.flatMap((name) => name.split(/\s+/)).map((word) => word.length));
      element.style.setProperty('--letters', String(letters));
      steps.replaceChildren(...names.map(() => make('span', {class: 'strip-step'})));
    },
    show(band) {
      setAttribute(element, 'data-band', band === null ? null : String(band));
      for (let i = 0; i < steps.childElementCount; i++) {
        setAttribute(steps.children[i], 'data-filled', band !== null && i <= band ? '' : null);
      }
      write(words, bandWords(names, band));
    },
  };
}
