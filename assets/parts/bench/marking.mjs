/** Marking this moment, and the moments that were marked. */

import {formatClock} from '../numbers.mjs';
import {make, write} from '../page.mjs';
import {ask, createTold} from '../asking.mjs';

const MOST_LETTERS = 200; // the message's bound
const MOST_SHOWN = 100;

export class MarkingPanel {
  /**
   * @param {import('../link.mjs').Link} link
   * @param {string} plain What a moment is called when no words are given.
   * @param {(atMs: number) => void} goTo
   */
  constructor(link, plain, goTo) {
    this._goTo = goTo;
    const words = make('input', {
      type: 'text', id: 'mark-words', maxlength: MOST_LETTERS, autocomplete: 'off', placeholder: plain, class: 'entry',
    });
    const button = make('button', {type: 'submit'}, 'Mark');
    const told = createTold();
    const form = make('form', {class: 'mark-form'}, make('label', {for: 'mark-words'}, 'What happens now'), words, button);
    form.addEventListener('submit', async (event) => {
      event.preventDefault();
      const said = words.value.trim();
      if (await ask(link, {kind: 'mark', words: said || plain}, {told, button}) && words.value.trim() === said) words.value = '';
    });
    this._list = make('ol', {class: 'marked', 'data-role': 'markers'});
    this._head = make('h4', {}, 'Marked moments (press to see one in the history)');
    this.element = make('div', {}, form, told, this._head, this._list);
    this.show([]);
  }

  /** @param {{t_ms: number, words: string, who: string}[]} markers */
  show(markers) {
    const shown = markers.slice(-MOST_SHOWN).toReversed();
    this._head.hidden = this._list.hidden = !shown.length;
    while (this._list.childElementCount > shown.length) this._list.lastElementChild.remove();
    while (this._list.childElementCount < shown.length) {
      const button = make('button', {type: 'button', class: 'plain'});
      button.addEventListener('click', () => this._goTo(Number(button.dataset.at)));
      this._list.append(make('li', {}, button));
    }
    shown.forEach(({t_ms: ms, words, who}, i) => {
      const button = this._list.children[i].firstElementChild;
      button.dataset.at = String(ms);
      write(button, `${formatClock(ms)}  ${words}${who && who !== 'instructor' ? ` (${who})` : ''}`);
    });
  }
}
