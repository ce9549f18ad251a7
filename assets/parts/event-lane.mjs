/** One bench's lane: its course, and its event as a line that pointer and keys can move. */

import {createMark} from './marks.mjs';
import {make, makeSvg, setAttribute, write} from './page.mjs';
import {movedByKey, placeIn, roundedFor, secondsIn} from './lane-times.mjs';

const REST_MS = 700; // after the last key before the comparison follows

/** A lane asks its room for the kind of event and the time that is seen, and tells it what a person did. */
export class EventLane {
  /**
   * @param {number} bench
   * @param {{kind: () => string, whole: () => [number, number], view: () => [number, number],
   *   moved: (bench: number, seconds: number | null, words: string) => void}} room
   *   `moved` hears of an event that was set; null: it is to be as it was found.
   */
  constructor(bench, room) {
    this.bench = bench;
    this.room = room;
    this.given = null;
    this.at = null; // where the line stands now, s; null without an event
    this.timer = 0; // runs while keys were pressed and nothing was told
    this.isHeld = false;
    this.#build();
    this.#listenToPointer();
    this.#listenToKeys();
    this.back.addEventListener('click', () => this.#goBack());
    this.here.addEventListener('click', () => this.#setHere());
  }

  /** Draw what the server knows of the bench; a line that a person holds stays where it is. */
  show(given, points) {
    const isOther = this.given === null || this.given.shape !== given.shape || this.given.colour !== given.colour;
    this.given = given;
    if (isOther) this.mark.replaceChildren(createMark(given));
    write(this.name, given.name);
    if (!this.isHeld && !this.timer) this.at = given.at;
    this.curve.setAttribute('d', pathOf(points, this.room.view()));
    this.#place();
  }

  #build() {
    this.mark = make('span', {class: 'lane-mark'});
    this.name = make('span', {class: 'lane-name'});
    this.words = make('span', {class: 'lane-words'});
    this.back = make('button', {type: 'button', class: 'lane-back'}, 'Back to what was found');
    this.here = make('button', {type: 'button', class: 'lane-back'}, 'Set it by hand');
    this.curve = makeSvg('path', {class: 'lane-curve'});
    this.found = make('span', {class: 'lane-found', 'aria-hidden': 'true'});
    this.line = make('span', {class: 'lane-line', role: 'slider', tabindex: '0', 'aria-orientation': 'horizontal'});
    this.plot = make('div', {class: 'lane-plot'},
      makeSvg('svg', {viewBox: '0 0 1000 100', preserveAspectRatio: 'none', 'aria-hidden': 'true'}, this.curve),
      this.found, this.line);
    const head = make('div', {class: 'lane-head'}, this.mark, this.name, this.words, this.back, this.here);
    this.row = make('li', {class: 'lane', 'data-bench': this.bench}, head, this.plot);
  }

  #place() {
    const was = this.given.found;
    const isMoved = this.at !== null && this.at !== was;
    this.#stand(this.line, this.at);
    this.#stand(this.found, isMoved ? was : null);
    this.back.hidden = !isMoved;
    this.here.hidden = this.at !== null;
    this.row.dataset.moved = isMoved ? 'yes' : 'no';
    const words = wordsOf(this.given, this.at);
    write(this.words, words);
    const [since, until] = this.room.whole();
    const told = {
      'aria-label': `${this.room.kind()} at ${this.given.name}`,
      'aria-valuemin': String(Math.floor(since)),
      'aria-valuemax': String(Math.ceil(until)),
      'aria-valuenow': String(this.at ?? since),
      'aria-valuetext': words,
    };
    for (const [name, value] of Object.entries(told)) setAttribute(this.line, name, value);
  }

  /** Put an element at its time; what is not seen is not there for keys either. */
  #stand(element, seconds) {
    const [since, until] = this.room.view();
    element.hidden = seconds === null || seconds < since || seconds > until;
    if (!element.hidden) element.style.left = `${100 * placeIn(seconds, [since, until])}%`;
  }

  #move(seconds) {
    const [since, until] = this.room.whole();
    this.at = Math.min(until, Math.max(since, seconds));
    this.#place();
  }

  #tell(seconds) {
    clearTimeout(this.timer);
    this.timer = 0;
    this.room.moved(this.bench, seconds, `${this.given.name}: ${wordsOf(this.given, this.at)}.`);
  }

  #goBack() {
    this.at = this.given.found;
    this.#place();
    this.#tell(null);
    if (!this.line.hidden) this.line.focus();
  }

  #setHere() {
    const view = this.room.view();
    this.#move(roundedFor(secondsIn(0.5, view), view));
    this.#tell(this.at);
    this.line.focus();
  }

  #listenToPointer() {
    this.line.addEventListener('pointerdown', (event) => {
      if (event.button !== 0) return;
      event.preventDefault();
      this.line.focus();
      this.line.setPointerCapture(event.pointerId);
      this.isHeld = true;
      this.row.dataset.held = 'yes';
    });
    this.line.addEventListener('pointermove', (event) => {
      if (!this.isHeld) return;
      const {left, width} = this.plot.getBoundingClientRect();
      const view = this.room.view();
      this.#move(roundedFor(secondsIn((event.clientX - left) / width, view), view));
    });
    for (const end of ['pointerup', 'pointercancel']) this.line.addEventListener(end, () => this.#letGo());
  }

  #letGo() {
    if (!this.isHeld) return;
    this.isHeld = false;
    delete this.row.dataset.held;
    if (this.at !== this.given.at) this.#tell(this.at);
  }

  #listenToKeys() {
    this.line.addEventListener('keydown', (event) => {
      if (event.key === 'Delete' || event.key === 'Backspace') {
        event.preventDefault();
        this.#goBack();
        return;
      }
      const to = movedByKey(event, this.at, this.room.view());
      if (to === null) return;
      event.preventDefault();
      this.#move(to);
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.#tell(this.at), REST_MS);
    });
    this.line.addEventListener('blur', () => { if (this.timer) this.#tell(this.at); });
  }
}

/** Where an event is, in words: "25.00 s, set by hand; found at 19.84 s". */
function wordsOf({found, words}, at) {
  if (at === null) return `none found: ${words}`;
  const now = `${at.toFixed(2)} s`;
  if (at === found) return `${now}, found`;
  return `${now}, set by hand; ${found === null ? 'none found' : `found at ${found.toFixed(2)} s`}`;
}

function pathOf({t, y}, view) {
  let d = '';
  let isBroken = true;
  for (let i = 0; i < t.length; i += 1) {
    if (y[i] === null) {
      isBroken = true;
      continue;
    }
    d += `${isBroken ? 'M' : 'L'}${(1000 * placeIn(t[i], view)).toFixed(1)} ${(94 - 88 * y[i]).toFixed(1)}`;
    isBroken = false;
  }
  return d;
}
