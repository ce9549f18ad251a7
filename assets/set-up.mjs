/** The set-up page: all benches for the beginning of a session, kept up to date by the bridge's messages. */

import {fillHeader} from './parts/header.mjs';
import {pageLink} from './parts/link.mjs';
import {announce, make, setAttribute, whenPresent, write} from './parts/page.mjs';
import {Bath} from './parts/set-up/bath.mjs';
import {BenchRow} from './parts/set-up/bench-row.mjs';
import {summaryOf} from './parts/set-up/needs.mjs';

const STATE_MS = 250; // ages are told in whole seconds; a lost link must show within 2 s

class SetUp {
  /**
   * @param {HTMLElement} root
   * @param {import('./parts/link.mjs').Link} link
   */
  constructor(root, link) {
    this.root = root;
    this.link = link;
    /** @type {Map<number, BenchRow>} */
    this.rows = new Map();
    this.source = 'live';
    this._summary = make('p', {class: 'set-up-summary', 'data-role': 'summary'});
    this._needs = make('ul', {class: 'set-up-needs', 'data-role': 'needs', 'aria-label': 'Benches to go to'});
    this._list = make('div', {class: 'set-up-list'});
    this.bath = new Bath(link);
    const bath = make('section', {class: 'panel panel-bath', id: 'bath', tabindex: '-1', 'aria-labelledby': 'bath-title'},
      make('h3', {id: 'bath-title'}, 'All benches in one bath'), this.bath.element);
    this._bathPanel = bath;
    this._toBath = make('a', {href: '#bath', class: 'to-bath'}, 'To the bath: calibrate all benches');
    this._only = make('input', {type: 'checkbox', id: 'only-needs'});
    this._only.addEventListener('change', () => this.showStates());
    const head = make('header', {class: 'panel set-up-overview'}, make('h2', {}, 'Set-up'), this._summary, this._needs,
      make('label', {class: 'check', for: 'only-needs'}, this._only, 'Show only benches that are not ready'),
      this._toBath,
      make('a', {href: '/codes', class: 'to-bath'}, 'Bench codes'));
    root.replaceChildren(head, this._list, bath);
    this._listen();
    link.survey();
    setInterval(() => this.showStates(), STATE_MS);
  }

  _listen() {
    const {link} = this;
    const at = (number, how) => {
      const row = this.rows.get(number);
      if (row) how(row);
      this.showStates();
    };
    link.on('link', () => this.showStates());
    link.on('frame', ({values}) => this.takeValues(values));
    link.on('status', ({bench, status}) => at(bench, (row) => row.takeStatus(status)));
    link.on('text', (message) => at(message.bench, (row) => this.takeText(row, message)));
    link.on('findings', ({bench, findings}) => at(bench, (row) => {
      for (const {words} of row.findings.take(findings)) announce(`Bench ${bench}, ${row.bench.name}: ${words}`);
    }));
    link.on('steady', ({bench, channels}) => this.bath.take(bench, channels));
    link.on('bench', ({bench}) => this.takeBenches([...this._benches().filter(({number}) => number !== bench.number), bench]));
    link.on('lesson', ({benches}) => this.takeBenches(benches));
    link.on('hello', (hello) => this.takeHello(hello));
  }

  /** A hello begins anew: another connection, or another place of a replay. */
  takeHello({benches, values, findings, session}) {
    this.source = session.source;
    this.bath.restart();
    this._bathPanel.hidden = this._toBath.hidden = session.source === 'replay'; // it has no boards to calibrate
    this.takeBenches(benches);
    for (const row of this.rows.values()) {
      row.restart();
      row.setSource(session.source);
    }
    for (const [bench, all] of findings) this.rows.get(bench)?.findings.take(all);
    this.takeValues(values);
    this.showStates();
  }

  _benches() {
    return [...this.rows.values()].map(({bench}) => bench);
  }

  takeBenches(benches) {
    const numbers = new Set(benches.map(({number}) => number));
    for (const [number, row] of this.rows) {
      if (numbers.has(number)) continue;
      row.element.remove();
      this.rows.delete(number);
    }
    benches.toSorted((a, b) => a.number - b.number).forEach((bench, i) => {
      const row = this.rows.get(bench.number) ?? this._add(bench);
      row.describe(bench);
      if (this._list.children[i] !== row.element) this._list.insertBefore(row.element, this._list.children[i] ?? null);
    });
    this.bath.describe(benches);
    this.showStates();
  }

  _add(bench) {
    const row = new BenchRow(bench, this.link);
    row.setSource(this.source);
    this.rows.set(bench.number, row);
    return row;
  }

  takeValues(values) {
    for (const row of values) this.rows.get(row[0])?.takeValue(row);
  }

  takeText(row, text) {
    if (text.sure === 'doubtful' && row.text?.sure !== 'doubtful') {
      announce(`Bench ${row.number}, ${row.bench.name}, asks how to read its text. ${text.doubt}`);
    }
    row.takeText(text);
  }

  showStates() {
    const nowMs = this.link.now();
    const linkLost = this.link.state === 'lost';
    const rows = [...this.rows.values()].sort((a, b) => a.number - b.number);
    const found = rows.map((row) => ({number: row.number, name: row.bench.name, ...row.showState(nowMs, linkLost)}));
    rows.forEach((row, i) => {
      const isBusy = row.element.contains(document.activeElement); // what a person works at stays
      row.element.hidden = this._only.checked && found[i].need === 'ready' && !isBusy;
    });
    write(this._summary, summaryOf(found.map(({need}) => need)));
    const toGo = found.filter(({need}) => need !== 'ready');
    while (this._needs.childElementCount > toGo.length) this._needs.lastElementChild.remove();
    while (this._needs.childElementCount < toGo.length) this._needs.append(make('li', {}, make('a')));
    toGo.forEach(({number, name, need, words}, i) => {
      const link = this._needs.children[i].firstElementChild;
      setAttribute(link, 'href', `#bench-${number}`);
      setAttribute(link, 'data-need', need);
      write(link, `${name === `Bench ${number}` ? name : `${number}: ${name}`}: ${words}`);
    });
  }
}

whenPresent('#set-up', (root) => {
  const link = pageLink();
  new SetUp(root, link);
  fillHeader(document.getElementById('header'), link);
  link.on('hello', ({lesson}) => { document.title = `Set-up – ${lesson.title || 'Benchrow'}`; });
});
