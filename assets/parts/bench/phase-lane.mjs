/** The lesson's phases on a history's time axis: named in a lane of their own, shaded in turn behind curve and ribbon. */

import {formatClock} from '../numbers.mjs';
import {make, setAttribute, write} from '../page.mjs';

const LEAST_NAMED = 0.03; // of the width; a shorter stretch has its name as a title only

/** @returns {{element: HTMLElement, show: (stretches: import('../phase-stretches.mjs').PhaseStretch[], place: Place) => void}} */
export function createPhaseLane() {
  const track = make('div', {class: 'phase-track', 'aria-hidden': 'true'});
  const words = make('p', {class: 'out-of-sight', 'data-role': 'phases-words'});
  const element = make('div', {class: 'phase-lane', 'data-role': 'phases', hidden: ''},
    make('span', {class: 'ribbon-label'}, 'Phase'), track, words);
  return {
    element,
    show(stretches, shareOf) {
      element.hidden = !stretches.length;
      shadePhases(track, stretches, shareOf);
      stretches.forEach(({phase, fromMs, toMs}, i) => {
        track.children[i].title = phase;
        write(track.children[i], shareOf(toMs) - shareOf(fromMs) > LEAST_NAMED ? phase : '');
      });
      write(words, spoken(stretches));
    },
  };
}

/**
 * One element for each stretch, every other one hatched, with a line where it begins.
 * @param {HTMLElement} parent As wide as the time axis.
 * @param {import('../phase-stretches.mjs').PhaseStretch[]} stretches
 * @param {(ms: number) => number} shareOf Where an instant stands, 0 to 1.
 */
export function shadePhases(parent, stretches, shareOf) {
  while (parent.childElementCount > stretches.length) parent.lastElementChild.remove();
  while (parent.childElementCount < stretches.length) parent.append(make('span', {class: 'phase'}));
  stretches.forEach(({fromMs, toMs, isOdd, isBegun}, i) => {
    const element = parent.children[i];
    element.style.left = `${100 * shareOf(fromMs)}%`;
    element.style.width = `${100 * (shareOf(toMs) - shareOf(fromMs))}%`;
    setAttribute(element, 'data-odd', isOdd ? '' : null);
    setAttribute(element, 'data-begun', isBegun ? '' : null);
  });
}

function spoken(stretches) {
  if (!stretches.length) return '';
  const named = stretches.map(({phase, fromMs}) => `${phase} from ${formatClock(fromMs)}`);
  return `Phases in this stretch: ${named.join(', ')}.`;
}
