/** The page "Where next?": all calls in the order in which one person should go, to be walked through by keyboard. */

import {arrange} from './parts/arrange.mjs';
import {createTold} from './parts/asking.mjs';
import {NO_CALLS, NewCalls, benchWords, newsWords, waitingCalls} from './parts/calls.mjs';
import {fillHeader} from './parts/header.mjs';
import {pageLink} from './parts/link.mjs';
import {CallItem} from './parts/next/call-item.mjs';
import {DonePanel, FloodPanel} from './parts/next/asides.mjs';
import {announce, make, setAttribute, whenPresent, write} from './parts/page.mjs';
import {fitPhaseControl} from './parts/phases.mjs';
import {SoundControl} from './parts/sound-control.mjs';

const TICK_MS = 1000; // ages are told in minutes
const STEPS = {ArrowDown: 1, ArrowUp: -1, Home: -Infinity, End: Infinity};
const TYPES = 'input, select, textarea';
const HOW = 'The first is where to go first. The arrow keys go from call to call.';

class NextPage {
  /**
   * @param {HTMLElement} root
   * @param {import('./parts/link.mjs').Link} link
   */
  constructor(root, link) {
    this.root = root;
    this.link = link;
    this.calls = NO_CALLS;
    this.news = new NewCalls();
    /** @type {Map<number, object>} */
    this.benches = new Map();
    /** @type {Map<string, CallItem>} By the call's id; bounded as the list is. */
    this.items = new Map();
    this._build();
    this._listen();
    setInterval(() => this.show(), TICK_MS);
  }

  _build() {
    const benchOf = (number) => this.benchOf(number);
    this._summary = make('p', {class: 'next-summary', 'data-role': 'summary'});
    this._told = createTold();
    this._list = make('ol', {class: 'calls-list', 'data-role': 'calls', 'aria-label': 'Calls, the first to go to first'});
    this._more = make('p', {class: 'soft', 'data-role': 'n-more'});
    this._flood = new FloodPanel(benchOf);
    this._done = new DonePanel(benchOf);
    this.sound = new SoundControl();
    this._shared = {link: this.link, told: this._told, benchOf};
    const head = make('header', {class: 'panel next-head'}, make('h2', {}, 'Where next?'), this._summary,
      make('p', {class: 'soft next-how'}, HOW), make('span', {class: 'next-tools'}, this.sound.element,
        make('a', {class: 'next-codes', href: '/codes'}, 'Bench codes'),
        make('a', {class: 'next-codes', href: '/journal'}, 'Journal')), this._told);
    this.root.replaceChildren(head, this._flood.element,
      make('div', {class: 'next-calls'}, this._list, this._more), this._done.element);
    this._list.addEventListener('keydown', (event) => this._press(event));
    this._list.addEventListener('focusin', (event) => this._rove(event.target.closest('.call')));
    this._list.addEventListener('focusout', (event) => this._left(event));
  }

  _listen() {
    const {link} = this;
    link.on('calls', ({calls}) => this.take(calls));
    link.on('flood', ({flood}) => this.takeFlood(flood));
    link.on('bench', ({bench}) => this.describe([...this.benches.values(), bench]));
    link.on('lesson', ({benches}) => this.describe(benches));
    link.on('hello', ({benches, flood = null, calls = NO_CALLS}) => {
      this.describe(benches);
      this.takeFlood(flood);
      this.take(calls);
    });
  }

  benchOf(number) {
    return this.benches.get(number) ?? {number, name: `Bench ${number}`, shape: '', colour: '', row: null, place: null};
  }

  describe(benches) {
    this.benches = new Map(benches.map((one) => [one.number, one]));
    this.show();
    this._flood.show(this.flood ?? null);
    this._done.show(this.calls.done, this.benches.size);
  }

  takeFlood(flood) {
    this.flood = flood;
    this._flood.show(flood);
  }

  take(calls) {
    this.calls = calls;
    const fresh = this.news.take(calls);
    if (fresh.length) announce(newsWords(fresh, (number) => benchWords(this.benchOf(number))));
    this.sound.take(fresh, calls);
    this.show();
    this._done.show(calls.done, this.benches.size);
  }

  show() {
    const {list, n_more: more} = this.calls;
    const nowMs = this.link.now();
    const elements = list.map((call) => {
      const item = this.items.get(call.id) ?? new CallItem(call.id, this._shared);
      this.items.set(call.id, item);
      item.show(call, nowMs);
      return item.element;
    });
    this._keepHeld(elements);
    arrange(this._list, elements);
    this._rove(this._list.querySelector('.call[tabindex="0"]'));
    write(this._summary, summaryWords(this.calls));
    write(this._more, more ? `And ${more} more, not listed.` : '');
  }

  /** A call that is over goes; one that has the focus stays where it is until the focus is elsewhere. */
  _keepHeld(elements) {
    const ids = new Set(this.calls.list.map(({id}) => id));
    for (const [id, item] of this.items) {
      if (ids.has(id)) continue;
      if (item.element.contains(document.activeElement)) {
        const at = [...this._list.children].indexOf(item.element);
        item.showOver();
        elements.splice(at, 0, item.element);
      } else {
        this.items.delete(id);
      }
    }
  }

  /** What was kept because it had the focus goes once that is elsewhere on the page. */
  _left({target, relatedTarget}) {
    const item = target.closest('.call');
    if (!item?.hasAttribute('data-over') || item.contains(relatedTarget) || !relatedTarget) return;
    setTimeout(() => this.show());
  }

  /** One call at a time can be reached by the Tab key; the arrows go to the others. */
  _rove(wanted) {
    const all = [...this._list.children];
    const one = all.includes(wanted) ? wanted : all[0];
    for (const element of all) setAttribute(element, 'tabindex', element === one ? '0' : '-1');
  }

  _press(event) {
    const step = STEPS[event.key];
    if (!step || event.target.matches(TYPES) || event.ctrlKey || event.altKey || event.metaKey) return;
    const all = [...this._list.children];
    const at = all.indexOf(event.target.closest('.call'));
    all[Math.min(all.length - 1, Math.max(0, at + step))]?.focus();
    event.preventDefault();
  }
}

function summaryWords(calls) {
  const nWaiting = waitingCalls(calls).length + calls.n_more;
  const nAttended = calls.list.length + calls.n_more - nWaiting;
  const waiting = ['Nobody waits for you.', '1 call waits.'][nWaiting] ?? `${nWaiting} calls wait.`;
  return nAttended ? `${waiting} Attended to: ${nAttended}.` : waiting;
}

whenPresent('#next', (root) => {
  const link = pageLink();
  new NextPage(root, link);
  const header = document.getElementById('header');
  fillHeader(header, link);
  fitPhaseControl(header, link);
  link.on('hello', ({lesson}) => { document.title = `Where next? – ${lesson.title || 'Benchrow'}`; });
});
