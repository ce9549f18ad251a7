/** The page of the bench codes: a QR code for each bench, to be shown or printed, cut out and laid on the bench. */

import {ask, createTold} from './parts/asking.mjs';
import {benchWords} from './parts/calls.mjs';
import {refuse} from './parts/entering.mjs';
import {fillHeader} from './parts/header.mjs';
import {pageLink} from './parts/link.mjs';
import {createMark} from './parts/marks.mjs';
import {originOf} from './parts/origin.mjs';
import {make, whenPresent, write} from './parts/page.mjs';
import {createCode} from './parts/qr.mjs';

const HOW = 'A group opens its own page by its code: there it can ask for help or say that it is done, and look at its bench. '
  + 'Each code is good for one bench. Who has it can speak for that group, so give it to that group alone.';
const RULES = 'Ask first whether phones may be used in the room and on its network: local rules come first.';
const SCAN = 'Scan it with a phone on the same network.';
const KEPT = 'This is a replay: by their codes groups can look at their bench, but not ask for help.';
const OTHER = 'another address';
const EXAMPLE = '192.168.1.20:8050';

class CodesPage {
  /**
   * @param {HTMLElement} root
   * @param {import('./parts/link.mjs').Link} link
   */
  constructor(root, link) {
    this.link = link;
    /** @type {Map<number, object>} */
    this.benches = new Map();
    this._codes = [];
    this._told = createTold();
    this._show = make('button', {type: 'button', class: 'chief', 'data-does': 'show'}, 'Show the codes');
    this._show.addEventListener('click', () => this.fetch(null));
    this._print = make('button', {type: 'button', 'data-does': 'print', hidden: ''}, 'Print …');
    this._print.addEventListener('click', () => print());
    this._out = make('p', {class: 'codes-out', 'data-role': 'unreachable', role: 'status', hidden: ''});
    this._kept = make('p', {'data-role': 'kept', hidden: ''}, KEPT);
    this._cards = make('div', {class: 'codes-cards', 'data-role': 'codes'});
    this._form = this._addressForm();
    root.replaceChildren(make('header', {class: 'panel codes-head'}, make('h2', {}, 'Bench codes'),
      make('p', {}, HOW), make('p', {class: 'soft'}, RULES), this._kept, this._form, make('div', {class: 'acts'}, this._show, this._print), this._told, this._out),
    this._cards);
    link.on('bench', ({bench}) => this.describe([...this.benches.values(), bench]));
    link.on('lesson', ({benches}) => this.describe(benches));
    link.on('hello', ({benches, session}) => {
      this._kept.hidden = session.source !== 'replay';
      this.describe(benches);
    });
  }

  _addressForm() {
    this._choice = make('select', {id: 'base', class: 'entry', 'data-role': 'base'});
    this._typed = make('input', {
      type: 'text', id: 'base-typed', class: 'entry', autocomplete: 'off', inputmode: 'url', placeholder: EXAMPLE, 'data-role': 'base-typed',
    });
    this._typedRow = make('div', {class: 'form-row form-row-words'}, make('label', {for: 'base-typed'}, 'Address'), this._typed);
    const use = make('button', {type: 'submit'}, 'Use this address');
    this._use = use;
    const form = make('form', {class: 'codes-form', novalidate: '', hidden: ''},
      make('div', {class: 'form-row form-row-words'}, make('label', {for: 'base'}, 'Leads to'), this._choice), this._typedRow, use);
    this._choice.addEventListener('change', () => {
      this._showTyped();
      if (this._choice.value) this.fetch(this._choice.value);
      else this._typed.focus();
    });
    form.addEventListener('submit', (event) => {
      event.preventDefault();
      const base = originOf(this._typed.value);
      if (base === null) refuse(this._told, this._typed, `That is no address of this kind. Write for example ${EXAMPLE}`);
      else this.fetch(base);
    });
    return form;
  }

  _showTyped() {
    this._typedRow.hidden = this._use.hidden = this._choice.value !== '';
  }

  describe(benches) {
    this.benches = new Map(benches.map((one) => [one.number, one]));
    this._showCards();
  }

  /** @param {string | null} base An origin; null: the bridge chooses. */
  async fetch(base) {
    let answer = null;
    const link = {control: async (message) => {
      answer = await this.link.control(message);
      return answer.kind === 'codes' ? {ok: true, words: 'The codes are shown below.'} : answer;
    }};
    if (!(await ask(link, {kind: 'codes', base}, {told: this._told, button: this._show}))) return;
    this.take(answer);
  }

  /** @param {{base: string, bases: string[], reachable: boolean, words: string, codes: object[]}} answer */
  take({base, bases, reachable, words, codes}) {
    this._typed.removeAttribute('aria-invalid');
    const options = [...new Set([...bases, base])].filter(Boolean);
    this._choice.replaceChildren(...options.map((one) => make('option', {value: one}, one)), make('option', {value: ''}, OTHER));
    this._choice.value = base;
    this._form.hidden = false;
    this._showTyped();
    this._out.hidden = reachable;
    write(this._out, reachable ? '' : `✕ ${words}`);
    this._codes = codes;
    this._show.hidden = true;
    this._print.hidden = codes.length === 0;
    if (document.activeElement === document.body || document.activeElement === this._show) this._print.focus();
    this._showCards();
  }

  _showCards() {
    this._cards.replaceChildren(...this._codes.map(({bench: number, url, modules}) => {
      const bench = this.benches.get(number) ?? {number, name: `Bench ${number}`, shape: '', colour: ''};
      const name = benchWords(bench);
      return make('article', {class: 'code-card', 'data-bench': number, 'aria-label': name},
        make('h3', {class: 'code-head'}, createMark(bench), make('span', {'data-role': 'name'}, name)),
        createCode(modules, `Code of ${name}`), make('p', {}, SCAN), make('p', {class: 'code-url fixed', 'data-role': 'url'}, url));
    }));
  }
}

whenPresent('#codes', (root) => {
  const link = pageLink();
  new CodesPage(root, link);
  fillHeader(document.getElementById('header'), link);
  link.on('hello', ({lesson}) => { document.title = `Bench codes – ${lesson.title || 'Benchrow'}`; });
});
