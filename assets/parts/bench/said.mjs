/** What the bench's group says, for the instructor: where no phone may be used, she says it for the group. */

import {ask, createTold} from '../asking.mjs';
import {formatClock} from '../numbers.mjs';
import {make, setAttribute, write} from '../page.mjs';

const SAYS = [['help', '⚑ Asks for help'], ['done', '✓ Is done'], ['nothing', 'Nothing']];
const WORDS = {help: 'asks for help', done: 'is done'};

export class SaidPanel {
  /**
   * @param {import('../link.mjs').Link} link
   * @param {number} bench
   */
  constructor(link, bench) {
    this._words = make('p', {class: 'soft', 'data-role': 'group-says'});
    this._told = createTold();
    this._buttons = SAYS.map(([want, words]) => {
      const button = make('button', {type: 'button', 'data-says': want, 'aria-pressed': 'false'}, words);
      button.addEventListener('click', () => ask(link, {kind: 'ask', bench, want, key: ''}, {told: this._told, button}));
      return button;
    });
    this._acts = make('div', {class: 'acts', role: 'group', 'aria-label': 'Say it for the group'}, ...this._buttons);
    this.element = make('div', {}, this._words, this._acts, this._told);
  }

  /** @param {'live' | 'replay'} source In a replay stands what the group said then. */
  setSource(source) {
    this._acts.hidden = source === 'replay';
  }

  /** @param {import('../calls.mjs').Asked} asked */
  show({want, sinceMs}) {
    write(this._words, want === 'nothing' ? 'It has not said anything.' : `It ${WORDS[want]}, since ${formatClock(sinceMs)}.`);
    for (const button of this._buttons) setAttribute(button, 'aria-pressed', String(button.dataset.says === want));
  }
}
