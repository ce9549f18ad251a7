/** The replay bar: plays a recording, pauses it, moves through it. Hidden while the source is live. */

import {pageLink} from './parts/link.mjs';
import {formatClock} from './parts/numbers.mjs';
import {make, setAttribute, whenPresent, write} from './parts/page.mjs';
import {Seeking, markerBeside} from './parts/seeking.mjs';

const SPEEDS = [0.25, 0.5, 1, 2, 4, 8, 16, 32, 64];
const TICK_MS = 250;
const TYPES_OR_PRESSES = 'input, textarea, select, button, a[href], summary, [contenteditable], [role=button]';

class ReplayBar {
  /**
   * @param {HTMLElement} root
   * @param {import('./parts/link.mjs').Link} link
   */
  constructor(root, link) {
    this.root = root;
    this.link = link;
    this.replay = null;
    this._shownMarkers = '';
    this._isDragged = false;
    this._sorted = [];
    this._nAsked = 0; // controls on their way: what is chosen is not overwritten meanwhile
    this._seeking = new Seeking((value) => this._control('seek', value), () => this._tick());
    this._build();
    link.on('hello', ({replay}) => this.take(replay));
    link.on('replay', ({replay}) => this.take(replay));
    link.on('link', () => this._tick());
    document.addEventListener('keydown', (event) => this._press(event));
    setInterval(() => this._tick(), TICK_MS);
  }

  _build() {
    const button = (role, words, label, act) => {
      const one = make('button', {type: 'button', 'data-role': role, 'aria-label': label, title: label}, words);
      one.addEventListener('click', act);
      return one;
    };
    this._play = button('play', 'Play', 'Play', () => this.toggle());
    this._before = button('marker-before', '⇤', 'To the marker before', () => this.goBeside(-1));
    this._after = button('marker-after', '⇥', 'To the next marker', () => this.goBeside(1));
    this._slider = make('input', {
      type: 'range', min: 0, max: 1, step: 100, value: 0, class: 'replay-slider', 'data-role': 'position',
      'aria-label': 'Place in the recording',
    });
    this._ticks = make('div', {class: 'replay-ticks'});
    this._clock = make('span', {class: 'replay-clock', 'data-role': 'replay-clock'});
    this._speed = make('select', {class: 'entry', id: 'replay-speed', 'data-role': 'speed'});
    this._loop = make('input', {type: 'checkbox', id: 'replay-loop', 'data-role': 'loop'});
    this._list = make('ol', {class: 'replay-markers'});
    this._count = make('summary', {}, 'Markers');
    this._markers = make('details', {class: 'replay-list'}, this._count, this._list);
    this._whatIf = make('a', {href: '/what-if', class: 'way', 'data-role': 'what-if'}, 'What if …');
    this._whatIf.hidden = location.pathname.startsWith('/what-if');
    this._told = make('p', {class: 'replay-told', role: 'status', 'data-role': 'replay-told'});
    this.root.classList.add('replay');
    this.root.replaceChildren(
      this._play, this._before, this._after,
      make('div', {class: 'replay-track'}, this._ticks, this._slider), this._clock,
      make('label', {class: 'replay-choice', for: 'replay-speed'}, 'Speed', this._speed),
      make('label', {class: 'replay-choice', for: 'replay-loop'}, this._loop, 'Loop'),
      this._markers, this._whatIf, this._told);
    this._listen();
  }

  _listen() {
    this._slider.addEventListener('input', () => {
      this._isDragged = true;
      this._showClock(Number(this._slider.value));
      this._seeking.want(Number(this._slider.value));
    });
    this._slider.addEventListener('change', () => { // the end of a drag: for sure
      this._isDragged = false;
      this._seeking.want(Number(this._slider.value));
    });
    this._speed.addEventListener('change', () => this._control('speed', Number(this._speed.value)));
    this._loop.addEventListener('change', () => this._control('loop', this._loop.checked));
    this._markers.addEventListener('keydown', (event) => {
      if (event.key !== 'Escape' || !this._markers.open) return;
      this._markers.open = false;
      this._count.focus();
    });
  }

  /** @param {object | null} replay As the bridge tells it. */
  take(replay) {
    this.replay = replay;
    this.root.hidden = replay === null;
    document.documentElement.toggleAttribute('data-replay', replay !== null);
    if (!replay) return;
    const isStill = !replay.playing;
    write(this._play, isStill ? '▶ Play' : '❚❚ Pause');
    setAttribute(this._play, 'aria-label', isStill ? 'Play' : 'Pause');
    setAttribute(this._play, 'title', `${isStill ? 'Play' : 'Pause'} (space bar)`);
    this._showSpeed(replay.speed);
    if (!this._nAsked) this._loop.checked = replay.loop;
    setAttribute(this._slider, 'max', String(Math.max(1, replay.length_ms)));
    this._showMarkers(replay);
    this._tick();
  }

  _showSpeed(speed) {
    const choices = SPEEDS.includes(speed) ? SPEEDS : [...SPEEDS, speed].sort((a, b) => a - b);
    if (this._speed.childElementCount !== choices.length) {
      this._speed.replaceChildren(...choices.map((one) => make('option', {value: one}, `× ${one}`)));
    }
    if (!this._nAsked) this._speed.value = String(speed);
  }

  /** Ticks at the slider and a list: the same markers for the mouse and for the keyboard. */
  _showMarkers({markers, length_ms: length}) {
    const told = JSON.stringify([length, markers]);
    if (told === this._shownMarkers) return;
    this._shownMarkers = told;
    this._sorted = markers.toSorted((a, b) => a.t_ms - b.t_ms);
    const words = ({t_ms: ms, words: said}) => `${formatClock(ms)}  ${said}`;
    this._ticks.replaceChildren(...this._sorted.map((marker) => {
      const tick = make('button', {type: 'button', class: 'replay-tick', tabindex: '-1', 'aria-hidden': 'true', title: words(marker)});
      tick.style.left = `${(100 * marker.t_ms) / Math.max(1, length)}%`;
      tick.addEventListener('click', () => this.goTo(marker.t_ms));
      return tick;
    }));
    this._list.replaceChildren(...this._sorted.map((marker) => {
      const one = make('button', {type: 'button', class: 'plain'}, words(marker));
      one.addEventListener('click', () => this.goTo(marker.t_ms));
      return make('li', {}, one);
    }));
    write(this._count, this._sorted.length === 1 ? '1 marker' : `${this._sorted.length} markers`);
    for (const part of [this._markers, this._before, this._after]) part.hidden = !this._sorted.length;
  }

  toggle() {
    this._control(this.replay.playing ? 'pause' : 'play', null);
  }

  /** @param {number} positionMs */
  goTo(positionMs) {
    this._slider.value = String(positionMs);
    this._showClock(positionMs);
    this._seeking.want(positionMs);
  }

  /** @param {-1 | 1} side */
  goBeside(side) {
    const marker = markerBeside(this._sorted, this._position(), side);
    if (marker) {
      this.goTo(marker.t_ms);
      write(this._told, marker.words);
    } else {
      write(this._told, side > 0 ? 'No marker comes after this moment.' : 'No marker comes before this moment.');
    }
  }

  /** Where the slider stands while a seek is on its way, else where the bridge says the replay is. */
  _position() {
    if (this._isDragged || this._seeking.isBusy) return Number(this._slider.value);
    return Math.min(this.replay.length_ms, this.link.now());
  }

  _tick() {
    if (!this.replay) return;
    const position = this._position();
    if (!this._isDragged && !this._seeking.isBusy) this._slider.value = String(Math.round(position));
    this._showClock(position);
  }

  _showClock(ms) {
    const words = `${formatClock(ms)} of ${formatClock(this.replay.length_ms)}`;
    write(this._clock, words);
    setAttribute(this._slider, 'aria-valuetext', words);
    this.root.style.setProperty('--done', `${(100 * ms) / Math.max(1, this.replay.length_ms)}%`);
  }

  async _control(action, value) {
    this._nAsked += 1;
    const reply = await this.link.control({kind: 'replay', action, ...(value === null ? {} : {value})});
    this._nAsked -= 1;
    setAttribute(this._told, 'data-refused', reply.ok ? null : '');
    write(this._told, reply.ok ? '' : `✕ ${reply.words}`);
    if (!reply.ok) this.take(this.replay); // the choices show again what holds
    return reply;
  }

  _press(event) {
    if (event.key !== ' ' || event.repeat || event.ctrlKey || event.altKey || event.metaKey || !this.replay) return;
    if (event.target.closest?.(TYPES_OR_PRESSES) || document.querySelector('dialog[open]')) return;
    event.preventDefault();
    this.toggle();
  }
}

whenPresent('#replay-bar', (root) => new ReplayBar(root, pageLink()));
