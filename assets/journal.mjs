/** The journal: every transition of every alarm of the session, to be filtered and exported; figures beside it. */

import {announce, make, setAttribute, whenPresent, write} from './parts/page.mjs';
import {fillHeader} from './parts/header.mjs';
import {csvOf} from './parts/journal/csv.mjs';
import {KINDS, chosenOf, entriesOf, newestFirst} from './parts/journal/entries.mjs';
import {FiguresPanel} from './parts/journal/figures.mjs';
import {JournalTable} from './parts/journal/table.mjs';
import {pageLink} from './parts/link.mjs';
import {fitPhaseControl} from './parts/phases.mjs';

const PAUSE_MS = 500; // after a transition: several may come together
const FIGURES_MS = 10_000; // standing alarms grow older
const PLAIN = {unit: '', decimals: 1};

class JournalPage {
  /**
   * @param {HTMLElement} root
   * @param {import('./parts/link.mjs').Link} link
   */
  constructor(root, link) {
    this.link = link;
    /** @type {import('./parts/journal/entries.mjs').Entry[]} As many as the bridge keeps. */
    this.entries = [];
    this.benches = new Map();
    this.session = null;
    this._known = 0; // how many entries were told, with those that the bridge has let go
    this._nLost = 0;
    this._generation = 0; // answers to questions of an earlier one are passed over
    this._isAsking = false;
    this._timer = null;
    this._isComplete = false;
    const nameOf = (bench) => this.nameOf(bench);
    this.table = new JournalTable(nameOf, (bench, channel) => this.channelOf(bench, channel));
    this.figures = new FiguresPanel(nameOf);
    this._build(root);
    this._listen();
    setInterval(() => { if (!document.hidden) this.askSoon(); }, FIGURES_MS);
  }

  _build(root) {
    const wanted = new URLSearchParams(location.search).get('bench') ?? '';
    this._choices = {
      bench: choice('bench', 'Bench', [['', 'all'], ...(wanted ? [[wanted, `Bench ${wanted}`]] : [])]),
      kind: choice('kind', 'Kind', [['', 'all'], ...KINDS.map((kind) => [kind, kind])]),
      priority: choice('priority', 'Priority', [['', 'all'], ['high', 'high'], ['medium', 'medium'], ['low', 'low']]),
    };
    this._choices.bench.input.value = wanted;
    this._text = make('input', {type: 'search', id: 'journal-text', class: 'entry', autocomplete: 'off', placeholder: 'stirred'});
    this._export = make('button', {type: 'button', class: 'chief'}, 'Export as CSV');
    this._count = make('p', {class: 'journal-count', role: 'status', 'data-role': 'journal-count'}, 'Asking the bridge …');
    const controls = make('form', {class: 'journal-choices', role: 'search', 'aria-label': 'Which transitions'},
      ...Object.values(this._choices).map(({element}) => element),
      make('div', {class: 'journal-choice'}, make('label', {for: 'journal-text'}, 'Words'), this._text), this._export);
    controls.addEventListener('input', () => this._choose());
    controls.addEventListener('submit', (event) => event.preventDefault());
    this._export.addEventListener('click', () => this._save());
    root.replaceChildren(
      make('section', {class: 'panel journal-main', 'aria-labelledby': 'journal-head'},
        make('h2', {id: 'journal-head'}, 'Journal of the alarms'), controls, this._count, this.table.element),
      this.figures.element);
  }

  _listen() {
    const {link} = this;
    link.on('hello', (hello) => this._takeHello(hello));
    link.on('lesson', ({benches}) => this._takeBenches(benches));
    link.on('bench', ({bench}) => this._takeBenches([...this.benches.values()].filter(({number}) => number !== bench.number).concat(bench)));
    link.on('alarm', () => this.askSoon());
  }

  /** A hello begins anew: another connection, or another place of a replay. */
  _takeHello({benches, session, lesson}) {
    document.title = `Journal of ${lesson.title || session.title} – Benchrow`;
    this.session = session;
    this._generation += 1;
    this._isAsking = false;
    this.entries = [];
    this._known = 0;
    this._isComplete = false;
    this._takeBenches(benches);
    this._ask();
  }

  _takeBenches(benches) {
    this.benches = new Map(benches.toSorted((a, b) => a.number - b.number).map((bench) => [bench.number, bench]));
    const {input} = this._choices.bench;
    const now = input.value;
    const numbers = [...this.benches.keys()].map(String);
    if (now && !numbers.includes(now)) numbers.push(now);
    input.replaceChildren(make('option', {value: ''}, 'all'), ...numbers.map((number) => make('option', {value: number}, this.nameOf(Number(number)))));
    input.value = now;
  }

  nameOf(number) {
    const name = this.benches.get(number)?.name ?? '';
    return name.includes(String(number)) || !name ? name || `Bench ${number}` : `${number} ${name}`;
  }

  channelOf(number, channel) {
    return this.benches.get(number)?.channels.find(({name}) => name === channel) ?? PLAIN;
  }

  askSoon() {
    this._timer ??= setTimeout(() => {
      this._timer = null;
      this._ask();
    }, PAUSE_MS);
  }

  /** Ask for what is new; a long journal comes in pieces. */
  async _ask() {
    if (this._isAsking || this.link.state !== 'open') return;
    this._isAsking = true;
    const generation = this._generation;
    const answer = await this.link.look({kind: 'journal', after: this._known});
    if (generation !== this._generation) return;
    this._isAsking = false;
    if (answer) this._take(answer);
    else if (!this._isComplete) write(this._count, 'The bridge told no journal.');
  }

  _take(answer) {
    const {first, n_all: nAll, n_lost: nLost, figures} = answer;
    if (nAll < this._known) { // it begins anew
      this._known = 0;
      this.entries = [];
      this._ask();
      return;
    }
    this._nLost = nLost;
    this.entries = [...this.entries.filter(({number}) => number >= nLost), ...entriesOf(answer)];
    this._known = first + answer.entries.length;
    this._isComplete = this._known >= nAll;
    if (figures) this.figures.show(figures, this.link.now());
    if (this._isComplete || first === nLost) this.show(); // of a long one not each of forty pieces
    if (!this._isComplete) this._ask();
  }

  _choose() {
    this.table.restart();
    this.show();
  }

  get choice() {
    const {bench, kind, priority} = this._choices;
    return {bench: bench.input.value, kind: kind.input.value, priority: priority.input.value, text: this._text.value};
  }

  show() {
    this.chosen = newestFirst(chosenOf(this.entries, this.choice, (bench) => this.nameOf(bench)));
    const all = this.entries.length;
    this.table.show(this.chosen, all ? 'No transition fits.' : 'No alarm has come or was touched in this session.');
    const lost = this._nLost ? ` ${this._nLost} older ones are in the recording only: benchrow read --journal.` : '';
    const more = this._isComplete ? '' : ' More are coming …';
    write(this._count, `${this.chosen.length} of ${all} transitions.${lost}${more}`);
    write(this._export, this.chosen.length === all ? 'Export as CSV' : `Export these ${this.chosen.length} as CSV`);
    setAttribute(this._export, 'aria-disabled', this.chosen.length && this._isComplete ? null : 'true');
  }

  _save() {
    if (this._export.getAttribute('aria-disabled') === 'true') return;
    const text = csvOf(this.chosen, this.session.start_utc_ms);
    const address = URL.createObjectURL(new Blob([text], {type: 'text/csv;charset=utf-8'}));
    const name = (this.session.recording ?? this.session.id).replace(/\.benchrow$/, '');
    make('a', {href: address, download: `${name}-journal.csv`}).click();
    setTimeout(() => URL.revokeObjectURL(address), 60_000);
    announce(`${this.chosen.length} transitions were saved.`);
  }
}

function choice(name, words, options) {
  const id = `journal-${name}`;
  const input = make('select', {id, class: 'entry'}, ...options.map(([value, shown]) => make('option', {value}, shown)));
  return {input, element: make('div', {class: 'journal-choice'}, make('label', {for: id}, words), input)};
}

whenPresent('#journal', (root) => {
  const link = pageLink();
  new JournalPage(root, link);
  const header = document.getElementById('header');
  fillHeader(header, link);
  fitPhaseControl(header, link);
});
