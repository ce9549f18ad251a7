/** The group's part of its bench's page: two large buttons, and in words what the instructor knows. */

import {ask, createTold} from '../asking.mjs';
import {NO_CALLS, askedAt, benchWords, placeInLine, placeWords} from '../calls.mjs';
import {isSure} from '../confirming.mjs';
import {forgetKey} from '../group-key.mjs';
import {createMark} from '../marks.mjs';
import {formatClock} from '../numbers.mjs';
import {make, setAttribute, write} from '../page.mjs';

const NOTHING = 'The instructor sees it when you press a button.';
const TAKEN = 'Your call is closed: the instructor has taken it, or another phone of your group took it back. Ask again when you need to.';
const LOST = 'Not connected: nothing can be sent now. Raise your hand.';
const KEPT = 'This is a session that was kept: you can look at your bench, not ask. In the room, raise your hand.';
const LEAVE = {
  title: 'Leave the group’s page?', words: 'To come back, scan the code of your bench again.', stay: 'Stay here', go: 'Leave it',
};

/** Panels of the bench's page that a group sees; all others hold what only the instructor changes. */
export const FOR_GROUPS = new Set(['history', 'findings', 'lines', 'fields', 'steps']);

export class GroupPanel {
  /**
   * @param {import('../link.mjs').Link} link
   * @param {number} bench
   * @param {string} key
   */
  constructor(link, bench, key) {
    this.link = link;
    this.bench = bench;
    this.key = key;
    this.calls = NO_CALLS;
    this._wanted = null; // what was pressed here and has not come back yet
    this._isTaken = false;
    this._isKept = false; // a replay takes no asks
    this._mark = make('span', {class: 'bench-mark'});
    this._name = make('span', {'data-role': 'group-name'});
    this._words = make('p', {class: 'group-words', role: 'status', 'data-role': 'group-words'});
    this._told = createTold();
    this._help = this._button('help', () => (this._asked.want === 'help' ? 'nothing' : 'help'));
    this._done = this._button('done', () => (this._asked.want === 'done' ? 'nothing' : 'done'));
    const leave = make('button', {type: 'button', class: 'plain group-leave', 'data-does': 'leave'}, 'Leave the group’s page');
    leave.addEventListener('click', () => this._leave());
    this.element = make('section', {class: 'panel panel-group', 'aria-labelledby': 'panel-group', tabindex: '-1'},
      make('h2', {id: 'panel-group', class: 'group-title'}, this._mark, this._name),
      this._words, make('div', {class: 'group-buttons'}, this._help, this._done), this._told, leave);
    link.on('calls', ({calls}) => this._take(calls));
    link.on('hello', ({calls, session}) => {
      this._isKept = session.source === 'replay';
      this._take(calls);
    });
    link.on('link', () => this._show());
    this._show();
  }

  _button(does, want) {
    const button = make('button', {type: 'button', class: 'group-button', 'data-does': does},
      make('span', {class: 'group-button-words'}), make('span', {class: 'group-button-more'}));
    button.addEventListener('click', () => this._say(want(), button));
    return button;
  }

  /** No passcode is asked for: the key of the bench is enough for this, and for nothing else. */
  async _say(want, button) {
    const link = {control: (message) => this.link.request(message)};
    this._isTaken = false;
    this._wanted = want;
    const message = {kind: 'ask', bench: this.bench, want, key: this.key};
    if (await ask(link, message, {told: this._told, button})) write(this._told, ''); // the words above say it
    else this._wanted = null;
  }

  async _leave() {
    if (!(await isSure(LEAVE))) return;
    forgetKey(this.bench);
    location.reload();
  }

  get _asked() {
    return askedAt(this.calls, this.bench);
  }

  /** A call that ends without a press here was taken by the instructor, or ended on another phone of the group. */
  _take(calls = NO_CALLS) {
    const before = this._asked.want;
    this.calls = calls;
    const now = this._asked.want;
    if (now !== before) {
      this._isTaken = before === 'help' && now === 'nothing' && this._wanted !== now;
      this._wanted = null;
    }
    this._show();
  }

  /** @param {object} bench As the bridge describes it. */
  describe(bench) {
    this._mark.replaceChildren(createMark(bench));
    write(this._name, benchWords(bench));
  }

  _show() {
    const {want} = this._asked;
    const isLost = this.link.state !== 'open';
    setAttribute(this.element, 'data-want', want);
    write(this._words, isLost ? LOST : this._isKept ? KEPT : this._stateWords());
    const isHelp = want === 'help';
    fill(this._help, isHelp, isHelp ? ['✓ You asked for help', 'Press to take it back'] : ['⚑ We need help', '']);
    fill(this._done, want === 'done', want === 'done' ? ['✓ You said: done', 'Press to take it back'] : ['We are done', '']);
    for (const button of [this._help, this._done]) button.disabled = isLost || this._isKept;
  }

  _stateWords() {
    const {want, sinceMs} = this._asked;
    if (want === 'done') return 'The instructor knows that you are done.';
    if (want === 'nothing') return this._isTaken ? TAKEN : NOTHING;
    const place = placeWords(placeInLine(this.calls, this.bench));
    return `The instructor knows. ${place} You asked at ${formatClock(sinceMs)}.`.replace('  ', ' ');
  }
}

function fill(button, isPressed, [words, more]) {
  setAttribute(button, 'aria-pressed', String(isPressed));
  write(button.children[0], words);
  write(button.children[1], more);
}
