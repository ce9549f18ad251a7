/** The band ribbon: which band was held when, on the history's time axis. Steps by height, grey level and name. */

import {make, setAttribute, write} from '../page.mjs';
import {bandWords} from '../strip.mjs';

const LEAST_SHARE = 0.004; // of the width; shorter ones are shown together

/**
 * @typedef {{from: number, to: number, band: number | null, nChanges: number}} Step Shares of the width, 0 to 1;
 *     nChanges above 0: so many changes, too quick to be shown one by one, `band` being the highest of them.
 */

/**
 * @param {[number, number | null][]} ribbon Changes [t_ms, band], the first one holding at the stretch's start.
 * @param {{fromMs: number, toMs: number}} stretch
 * @param {number} untilMs The newest band is known up to here.
 * @returns {Step[]} At most 1 / LEAST_SHARE and a few.
 */
export function ribbonSteps(ribbon, {fromMs, toMs}, untilMs) {
  const share = (ms) => Math.min(1, Math.max(0, (ms - fromMs) / (toMs - fromMs)));
  const steps = [];
  for (let i = 0; i < ribbon.length; i++) {
    const from = share(ribbon[i][0]);
    const to = share(Math.min(i + 1 < ribbon.length ? ribbon[i + 1][0] : untilMs, untilMs));
    if (to <= from) continue;
    const last = steps.at(-1);
    if (last && !last.nChanges && last.band === ribbon[i][1] && last.to >= from) {
      last.to = to; // told again, after a revision of the lesson
      continue;
    }
    const isQuick = to - from < LEAST_SHARE;
    if (isQuick && last?.nChanges && to - last.from < 4 * LEAST_SHARE) {
      last.to = to;
      last.nChanges += 1;
      last.band = Math.max(last.band ?? -1, ribbon[i][1] ?? -1);
    } else {
      steps.push({from, to, band: ribbon[i][1], nChanges: isQuick ? 1 : 0});
    }
  }
  for (const step of steps) if (step.band === -1) step.band = null;
  return steps;
}

/**
 * A band is not held where nothing was read.
 * @param {[number, number | null][]} ribbon
 * @param {([number, number, number] | null)[]} rows The history's rows; null is a gap.
 * @returns {[number, number | null][]}
 */
export function brokenByGaps(ribbon, rows) {
  const gaps = [];
  rows.forEach((row, i) => {
    if (row === null && rows[i - 1] && rows[i + 1]) gaps.push({from: rows[i - 1][0], to: rows[i + 1][0]});
  });
  const broken = [];
  let next = 0;
  let held = null;
  const goTo = (untilMs, isShown) => {
    for (; next < ribbon.length && ribbon[next][0] <= untilMs; next++) {
      held = ribbon[next][1];
      if (isShown) broken.push(ribbon[next]);
    }
  };
  for (const {from, to} of gaps) {
    goTo(from, true);
    if (held !== null) broken.push([from, null]);
    goTo(to, false);
    broken.push([to, held]);
  }
  goTo(Infinity, true);
  return broken;
}

/**
 * What a board without deadband and dwell would have shown: quick changes came put together.
 * @param {[number, number, number | null, number, number | null][]} plain [first ms, last ms, band after, changes, highest].
 * @param {{fromMs: number, toMs: number}} stretch
 * @param {number} untilMs The newest band is known up to here.
 * @returns {Step[]}
 */
export function plainSteps(plain, {fromMs, toMs}, untilMs) {
  const share = (ms) => Math.min(1, Math.max(0, (ms - fromMs) / (toMs - fromMs)));
  const steps = [];
  const add = (from, to, band, nChanges) => {
    if (share(to) > share(from)) steps.push({from: share(from), to: share(to), band, nChanges});
  };
  plain.forEach(([firstMs, lastMs, band, nChanges, highest], i) => {
    const endMs = Math.min(untilMs, plain[i + 1]?.[0] ?? untilMs);
    const isQuick = nChanges > 1;
    const least = LEAST_SHARE * (toMs - fromMs); // a flicker stays to be seen
    const quickMs = isQuick ? Math.min(endMs, Math.max(lastMs, firstMs + least)) : firstMs;
    if (isQuick) add(firstMs, quickMs, highest, nChanges);
    add(quickMs, endMs, band, 0);
  });
  return steps;
}

/**
 * @param {string} [title] What it shows.
 * @param {string} [role]
 * @returns {{element: HTMLElement, track: HTMLElement, show: (steps: Step[], namesOf: (step: Step) => string[]) => void}}
 */
export function createRibbon(title = 'Band', role = 'ribbon') {
  const phases = make('div', {class: 'ribbon-phases', 'aria-hidden': 'true'});
  const steps = make('div', {class: 'ribbon-steps'});
  const label = make('span', {class: 'ribbon-label'}, title);
  const words = make('p', {class: 'out-of-sight'});
  const element = make('div', {class: 'ribbon', 'data-role': role}, label, make('div', {class: 'ribbon-track'}, phases, steps), words);
  return {
    element,
    phases,
    show(shown, namesOf) {
      const names = namesOf({from: 1});
      element.hidden = names.length < 2 && !shown.some((step) => namesOf(step).length > 1);
      while (steps.childElementCount > shown.length) steps.lastElementChild.remove();
      while (steps.childElementCount < shown.length) {
        steps.append(make('div', {class: 'ribbon-step'}, make('span', {class: 'ribbon-fill'}), make('span', {class: 'ribbon-name'})));
      }
      shown.forEach((step, i) => showStep(steps.children[i], step, namesOf(step)));
      write(words, `${title}: ${spoken(shown, namesOf)}`);
    },
  };
}

function showStep(element, {from, to, band, nChanges}, names) {
  const [fill, name] = element.children;
  element.style.left = `${100 * from}%`;
  element.style.width = `${100 * (to - from)}%`;
  const height = band === null ? 0 : (band + 1) / Math.max(1, names.length);
  fill.style.height = `${100 * height}%`;
  fill.style.setProperty('--level', String(Math.round(100 * height)));
  const words = band === null ? 'no band' : bandWords(names, band);
  setAttribute(element, 'data-none', band === null ? '' : null);
  setAttribute(element, 'data-quick', nChanges > 1 ? '' : null);
  const isNamed = to - from > 0.03;
  write(name, isNamed ? words : '');
  element.title = nChanges > 1 ? `${nChanges} changes, up to ${words}` : words;
}

function spoken(steps, namesOf) {
  const last = steps.at(-1);
  if (!last) return 'No band is known in this stretch.';
  return `${steps.length} bands one after the other, the last: ${last.band === null ? 'none' : bandWords(namesOf(last), last.band)}.`;
}
