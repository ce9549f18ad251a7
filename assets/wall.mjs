/** The wall: a card for each bench, kept up to date by the bridge's messages. */

import {isNewCall} from './parts/alarm-words.mjs';
import {CallsStrip} from './parts/calls-strip.mjs';
import {NO_CALLS, NewCalls, askedAt, newsWords} from './parts/calls.mjs';
import {Card, HISTORY_MS} from './parts/card.mjs';
import {pageLink} from './parts/link.mjs';
import {announce, make, whenPresent} from './parts/page.mjs';
import {fillHeader} from './parts/header.mjs';
import {phaseStretches} from './parts/phase-stretches.mjs';
import {fitPhaseControl} from './parts/phases.mjs';
import {placeCards} from './parts/placing.mjs';
import {SoundControl} from './parts/sound-control.mjs';
import {drawHistory} from './parts/spark.mjs';
import {Seldom} from './parts/steadied.mjs';

const STATE_MS = 250; // ages are told in whole seconds; a lost link must show within 2 s
const DRAW_MS = 500; // a history moves by about a pixel in that time
const MOST_DRAWN_PER_FRAME = 4; // the others wait for the next frame: none is long

class Wall {
  constructor(root, link) {
    this.root = root;
    this.link = link;
    this.strip = new CallsStrip(document.getElementById('calls'));
    this.sound = new SoundControl();
    this.strip.tools.append(this.sound.element);
    this.calls = NO_CALLS;
    this.news = new NewCalls();
    this.told = new Seldom(); // alarms that were read out
    /** @type {Map<number, Card>} */
    this.cards = new Map();
    this.drawn = 0; // whose history is drawn next
    this.dueAt = 0;
    this.colour = '';
    this.shade = '';
    /** @type {import('./parts/phase-stretches.mjs').PhaseStart[]} */
    this.phases = [];
    this.listen();
    new ResizeObserver(() => this.place()).observe(root);
    matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => { this.colour = this.shade = ''; });
    setInterval(() => this.showStates(), STATE_MS);
    requestAnimationFrame((at) => this.draw(at));
  }

  listen() {
    const {link} = this;
    link.on('link', () => this.showStates());
    link.on('frame', ({values}) => this.takeValues(values));
    link.on('status', ({bench, status}) => this.change(bench, (card) => card.takeStatus(status)));
    link.on('bench', ({bench}) => {
      this.change(bench.number, (card) => card.describe(bench));
      this.place();
      this.describeStrip();
    });
    link.on('lesson', ({benches}) => this.setUp(benches));
    link.on('alarm', ({alarm}) => this.takeAlarm(alarm));
    link.on('findings', ({bench, findings}) => this.takeFindings(bench, findings));
    link.on('calls', ({calls}) => this.takeCalls(calls));
    link.on('flood', ({flood}) => this.strip.takeFlood(flood));
    link.on('phases', ({phases}) => { this.phases = phases; });
    link.on('hello', (hello) => this.takeHello(hello));
  }

  takeHello({benches, values, history, alarms, findings, phases, flood = null, calls = NO_CALLS}) {
    this.setUp(benches);
    for (const card of this.cards.values()) card.restart();
    for (const {bench, channel, rows} of history) this.cards.get(bench)?.takeHistory(channel, rows);
    for (const alarm of alarms) this.cards.get(alarm.bench)?.takeAlarm(alarm);
    for (const [bench, all] of findings) this.cards.get(bench)?.takeFindings(all);
    this.takeValues(values);
    this.phases = phases ?? [];
    this.takeCalls(calls);
    this.strip.takeFlood(flood);
    this.showStates();
    this.askForHistories(benches);
  }

  /** The hello's rows cover the whole session: a long one needs finer rows for the last two minutes. */
  async askForHistories(benches) {
    for (const {number, main, channels} of benches) {
      const card = this.cards.get(number);
      if (!card || !channels[main] || !card.wantsFinerHistory) continue;
      const to = Math.round(this.link.now());
      const from = Math.max(0, to - card.history.spanMs);
      const answer = await this.link.history({bench: number, channel: main, from_ms: from, to_ms: to, rows: 240});
      if (answer && card === this.cards.get(number)) card.refineHistory(answer.rows);
    }
  }

  /** Cards for these benches; those that stay keep what they show. */
  setUp(benches) {
    const numbers = new Set(benches.map(({number}) => number));
    for (const [number, card] of this.cards) {
      if (numbers.has(number)) continue;
      card.element.remove();
      this.cards.delete(number);
    }
    for (const bench of benches) {
      const card = this.cards.get(bench.number);
      if (card) card.describe(bench);
      else this.cards.set(bench.number, new Card(bench, {acknowledge: (alarm) => this.acknowledge(alarm)}));
    }
    this.place();
    this.describeStrip();
  }

  describeStrip() {
    this.strip.describe([...this.cards.values()].map(({bench}) => bench));
  }

  /** Put the cards where the benches stand, in the order of the rows, so that the Tab key walks through the room. */
  place() {
    const {width, height} = this.root.getBoundingClientRect();
    const cards = [...this.cards.values()];
    const benches = cards.map(({bench}) => bench);
    const {columns, rows, at} = placeCards(benches, width && height ? width / height : 16 / 9);
    const order = (card) => at.get(card.number).row * 1000 + at.get(card.number).column;
    cards.sort((a, b) => order(a) - order(b));
    for (const {element, number} of cards) {
      element.style.gridArea = `${at.get(number).row} / ${at.get(number).column}`;
    }
    if (cards.some(({element}, i) => this.root.children[i] !== element)) {
      this.root.replaceChildren(...cards.map(({element}) => element));
    }
    this.root.style.setProperty('--columns', String(columns));
    this.root.style.setProperty('--rows', String(rows));
    this.sizeCards(columns, rows);
    this.root.style.setProperty('--ems', String(Math.max(1, ...cards.map(({ems}) => ems))));
    this.fitCanvases(cards);
  }

  /** All cards are alike: their size is worked out once, not by each of them. */
  sizeCards(columns, rows) {
    const style = getComputedStyle(this.root);
    const size = (whole, before, after, gap, n) =>
      (whole - parseFloat(before) - parseFloat(after) - (n - 1) * parseFloat(gap)) / n;
    const {clientWidth, clientHeight} = this.root;
    const width = size(clientWidth, style.paddingLeft, style.paddingRight, style.columnGap, columns);
    const height = size(clientHeight, style.paddingTop, style.paddingBottom, style.rowGap, rows);
    this.root.style.setProperty('--card-width', `${Math.max(1, width)}px`);
    this.root.style.setProperty('--card-height', `${Math.max(1, height)}px`);
  }

  fitCanvases(cards) {
    const dots = devicePixelRatio;
    this.thickness = Math.max(1, Math.round(1.5 * dots));
    const sizes = cards.map(({canvas}) => [canvas.clientWidth * dots, canvas.clientHeight * dots]); // read all, then write
    cards.forEach(({canvas}, i) => {
      const [width, height] = sizes[i].map((size) => Math.max(1, Math.round(size)));
      if (canvas.width !== width) canvas.width = width;
      if (canvas.height !== height) canvas.height = height;
    });
  }

  takeValues(values) {
    for (const row of values) this.cards.get(row[0])?.takeValue(row);
  }

  change(number, how) {
    const card = this.cards.get(number);
    if (!card) return;
    how(card);
    this.showState(card);
  }

  takeAlarm(alarm) {
    this.change(alarm.bench, (card) => {
      card.takeAlarm(alarm);
      if (alarm.event === 'acknowledge') this.told.forget(alarm.id);
      if (isNewCall(alarm) && this.told.may(alarm.id, performance.now())) {
        this.showState(card);
        announce(`Bench ${card.number}, ${card.bench.name}: ${card.attention.words}. ${alarm.words}`);
      }
    });
  }

  takeFindings(number, findings) {
    this.change(number, (card) => {
      for (const {words} of card.takeFindings(findings)) announce(`Bench ${number}, ${card.bench.name}: ${words}`);
    });
  }

  /** Alarms and findings are announced when they come; of the call list the groups' own calls are left. */
  takeCalls(calls) {
    this.calls = calls;
    this.strip.take(calls);
    const fresh = this.news.take(calls);
    this.sound.take(fresh, calls);
    const asks = fresh.filter(({call}) => call.kind === 'ask');
    if (asks.length) announce(newsWords(asks, (number) => this.strip.nameOf(number)));
    this.showStates();
  }

  showState(card) {
    card.asked = askedAt(this.calls, card.number);
    card.showState(this.link.now(), {linkLost: this.link.state === 'lost', silentMs: this.link.silentMs()});
  }

  showStates() {
    this.strip.tick(this.link.now());
    for (const card of this.cards.values()) this.showState(card);
  }

  async acknowledge(alarm) {
    const reply = await this.link.control({kind: 'acknowledge', alarm});
    if (!reply.ok) this.say(reply.words);
  }

  /** Words about something that was asked for and could not be done. */
  say(words) {
    document.querySelector('.told')?.remove();
    const button = make('button', {type: 'button', class: 'told-close'}, 'Close');
    const told = make('div', {class: 'told', role: 'alert'}, make('p', {}, words), button);
    button.addEventListener('click', () => told.remove());
    document.body.append(told);
  }

  draw(at) {
    requestAnimationFrame((next) => this.draw(next));
    if (this.drawn === 0 && at < this.dueAt) return;
    if (this.drawn === 0) this.dueAt = at + DRAW_MS;
    this.colour ||= getComputedStyle(this.root).getPropertyValue('--curve').trim();
    this.shade = this.shade || getComputedStyle(this.root).getPropertyValue('--line-faint').trim();
    const cards = [...this.cards.values()];
    const nowMs = this.link.now();
    const phases = phaseStretches(this.phases, {fromMs: nowMs - HISTORY_MS, toMs: nowMs});
    for (const card of cards.slice(this.drawn, this.drawn + MOST_DRAWN_PER_FRAME)) this.drawCard(card, nowMs, phases);
    this.drawn += MOST_DRAWN_PER_FRAME;
    if (this.drawn >= cards.length) this.drawn = 0;
  }

  drawCard({canvas, history, main}, nowMs, phases) {
    if (!main) return;
    const {low, high} = main;
    const {colour, shade, thickness} = this;
    drawHistory(canvas.getContext('2d'), history, {nowMs, low, high, colour, thickness, shade, phases});
  }
}

whenPresent('#wall', (root) => {
  const link = pageLink();
  new Wall(root, link);
  const header = document.getElementById('header');
  fillHeader(header, link);
  fitPhaseControl(header, link);
  link.on('hello', ({lesson}) => { document.title = `${lesson.title || 'Wall'} – Benchrow`; });
});
