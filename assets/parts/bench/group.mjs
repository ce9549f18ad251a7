/** The group's part of its bench's page: two large buttons, and in words what the instructor knows. */

import {ask, createTold} from '../asking.mjs';
import {askedAt, benchWords, placeInLine, placeWords} from '../calls.mjs';
import {isSure} from '../confirming.mjs';
import {forgetKey} from '../group-key.mjs';
import {createMark} from '../marks.mjs';
import {formatClock} from '../numbers.mjs';
import {make, setAttribute, write} from '../page.mjs';

const NOTHING = 'The instructor sees it when you press a button.';
const LOST = 'Not connected: nothing can be sent now. Raise your hand.';
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
    this.calls = null;
    this._mark = make('span', {class: 'bench-mark'});
    this._name = make('span', {'data-role': 'group-name'});
    this._words = make('p', {class: 'group-words', role: 'status', 'data-role': 'group-words'});
    this._told = createTold();
    this._help = this._button('help', () => (this._asked.want === 'help' ? 'nothing' : 'help'));
    this._again = this._button('again', () => 'again');
    this._done = this._button('done', () => (this._asked.want === 'done' ? 'nothing' : 'done'));
    const leave = make('button', {type: 'button', class: 'plain group-leave', 'data-does': 'leave'}, 'Leave the group’s page');
    leave.addEventListener('click', () => this._leave());
    this.element = make('section', {class: 'panel panel-group', 'aria-labelledby': 'panel-group', tabindex: '-1'},
      make('h2', {id: 'panel-group', class: 'group-title'}, this._mark, this._name),
      this._words, make('div', {class: 'group-buttons'}, this._help, this._again, this._done), this._told, leave);
    link.on('calls', ({calls}) => this._take(calls));
    link.on('hello', ({calls}) => this._take(calls));
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
    const say = (one) => this.link.request({kind: 'ask', bench: this.bench, want: one, key: this.key});
    const link = {control: async () => {
      if (want !== 'again') return say(want);
      const first = await say('nothing'); // what stands already can't be asked for once more
      return first.ok ? say('help') : first;
    }};
    if (await ask(link, {}, {told: this._told, button})) write(this._told, ''); // the words above say it
  }

  async _leave() {
    if (!(await isSure(LEAVE))) return;
    forgetKey(this.bench);
    location.reload();
  }

  get _asked() {
    return this.calls ? askedAt(this.calls, this.bench) : {want: 'nothing', sinceMs: 0, attended: false};
  }

  _take(calls) {
    this.calls = calls ?? null;
    this._show();
  }

  /** @param {object} bench As the bridge describes it. */
  describe(bench) {
    this._mark.replaceChildren(createMark(bench));
    write(this._name, benchWords(bench));
  }

  _show() {
    const {want, attended} = this._asked;
    const isLost = this.link.state !== 'open';
    setAttribute(this.element, 'data-want', want);
    setAttribute(this.element, 'data-attended', attended ? '' : null);
    write(this._words, isLost ? LOST : this._stateWords());
    const isHelp = want === 'help';
    fill(this._help, isHelp, isHelp ? ['✓ You asked for help', 'Press to take it back'] : ['⚑ We need help', '']);
    if (!attended && this._again === document.activeElement) this._help.focus();
    this._again.hidden = !attended;
    fill(this._again, null, ['⚑ We need help again', '']);
    fill(this._done, want === 'done', want === 'done' ? ['✓ You said: done', 'Press to take it back'] : ['We are done', '']);
    for (const button of [this._help, this._again, this._done]) button.disabled = isLost;
  }

  _stateWords() {
    const {want, attended, sinceMs} = this._asked;
    if (want === 'done') return 'The instructor knows that you are done.';
    if (want === 'nothing') return NOTHING;
    if (attended) return 'The instructor has taken your call: on the way to you, or was with you already.';
    const place = placeWords(placeInLine(this.calls, this.bench));
    return `The instructor knows. ${place} You asked at ${formatClock(sinceMs)}.`.replace('  ', ' ');
  }
}

function fill(button, isPressed, [words, more]) {
  if (isPressed !== null) setAttribute(button, 'aria-pressed', String(isPressed));
  write(button.children[0], words);
  write(button.children[1], more);
}
