/** A bench's page: everything that is known of one bench, kept up to date by the bridge's messages. */

import {alarmWords, isNewCall} from './parts/alarm-words.mjs';
import {AlarmsPanel} from './parts/bench/alarms.mjs';
import {BaselinePanel} from './parts/bench/baseline.mjs';
import {Calming} from './parts/bench/calming.mjs';
import {CalibrationPanel} from './parts/bench/calibration.mjs';
import {createFields, createSteps} from './parts/bench/decoded.mjs';
import {FOR_GROUPS, GroupPanel} from './parts/bench/group.mjs';
import {Head} from './parts/bench/head.mjs';
import {HistoryPanel} from './parts/bench/history.mjs';
import {LinesPanel} from './parts/bench/lines.mjs';
import {MarkingPanel} from './parts/bench/marking.mjs';
import {PortPanel} from './parts/bench/port.mjs';
import {SaidPanel} from './parts/bench/said.mjs';
import {SettingsPanel} from './parts/bench/settings.mjs';
import {SurePanel} from './parts/bench/sure.mjs';
import {NO_CALLS, askedAt} from './parts/calls.mjs';
import {FindingsList} from './parts/findings.mjs';
import {keyOfBench} from './parts/group-key.mjs';
import {fillHeader} from './parts/header.mjs';
import {pageLink} from './parts/link.mjs';
import {announce, make, setAttribute, whenPresent} from './parts/page.mjs';
import {fitPhaseControl} from './parts/phases.mjs';
import {fitRecordingControl} from './parts/recording.mjs';
import {Seldom} from './parts/steadied.mjs';
import {Understood} from './parts/understood.mjs';

const STATE_MS = 250; // ages are told in whole seconds; a lost link must show within 2 s
const DEFAULT_OLD_MS = 3000; // until the bridge has said how often the board prints
const MOST_MARKERS = 1000; // as the bridge keeps
const PLAIN = {unit: '', decimals: 1};

class BenchPage {
  /**
   * @param {HTMLElement} root
   * @param {import('./parts/link.mjs').Link} link
   */
  constructor(root, link) {
    this.root = root;
    this.link = link;
    this.number = Number(root.dataset.bench);
    this.calls = NO_CALLS;
    this.told = new Seldom(); // alarms that were read out
    this.bench = null;
    this.benches = [];
    this.markers = [];
    this.chosen = null; // the name of a channel, once a person has chosen one
    /** @type {Map<number, object>} The newest value of each channel of the bench. */
    this.newest = new Map();
    this.steps = [];
    /** @type {object[]} What its channels' readings are worth. */
    this.worth = [];
    /** @type {object[]} The times in its channels' bands. */
    this.bandTimes = [];
    this._build();
    this._listen();
    link.follow(this.number);
    setInterval(() => this.showState(), STATE_MS);
  }

  _build() {
    this.head = new Head((index) => this.choose(index));
    this.alarms = new AlarmsPanel(this.link, (name) => this.channelOf(name));
    this.calming = new Calming(this.link, this.number);
    this.history = new HistoryPanel(this.link, this.number, this.root.dataset.plotly, (alarms) => this.alarms.showLog(alarms));
    this.lines = new LinesPanel();
    this.fields = createFields();
    this.conversion = createSteps();
    this.marking = new MarkingPanel(this.link, `Bench ${this.number}`, (ms) => this.history.showInstant(ms));
    this.said = new SaidPanel(this.link, this.number);
    this.port = new PortPanel(this.link, this.number);
    this.baseline = new BaselinePanel(this.link, this.number);
    this.settings = new SettingsPanel(this.link, this.number);
    this.findings = new FindingsList(this.link, this.number);
    this.sure = new SurePanel(this.link);
    this.calibration = new CalibrationPanel(this.link, this.number, this.root.dataset.plotly);
    this.understood = new Understood(this.link, this.number);
    this.nowhere = make('p', {class: 'bench-nowhere', hidden: ''},
      `There is no bench ${this.number} in this session. `, make('a', {href: '/'}, 'Go to the wall'));
    const panels = {
      history: panel('history', 'History', this.history.element),
      findings: panel('findings', 'Findings', this.findings.element),
      alarms: panel('alarms', 'Alarms', this.alarms.element, this.calming.element, journalLink(this.number)),
      lines: panel('lines', 'Lines as they arrive', this.lines.element),
      fields: panel('fields', 'Fields of the newest line', this.fields.element),
      steps: panel('steps', 'From the printed number to the value', this.conversion.element),
      baseline: panel('baseline', 'Baseline', this.baseline.element),
      marking: panel('marking', 'Mark this moment', this.marking.element),
      said: panel('said', 'The group', this.said.element),
      port: panel('port', 'Port', this.port.element),
      sure: panel('sure', 'How sure', this.sure.element),
      calibration: panel('calibration', 'Calibration', this.calibration.element),
      understood: panel('understood', 'How the text is understood', this.understood.element),
      settings: panel('settings', 'This bench’s settings', this.settings.element),
    };
    this.all = make('div', {class: 'bench-page', hidden: ''}, this.head.element,
      make('div', {class: 'bench-left'}, panels.history, panels.lines,
        make('div', {class: 'bench-decoded'}, panels.fields, panels.steps)),
      make('div', {class: 'bench-right'}, panels.findings, panels.alarms, panels.baseline, panels.marking, panels.said, panels.port),
      make('div', {class: 'bench-worth'}, panels.sure, panels.calibration), panels.understood, panels.settings);
    this.root.replaceChildren(this.nowhere, this.all);
    const key = keyOfBench(this.number);
    if (key) this._keepToLooking(key, panels);
  }

  /** Opened by the bench's code: the group sees its bench and may ask; the instructor's controls are not there. */
  _keepToLooking(key, panels) {
    this.group = new GroupPanel(this.link, this.number, key);
    for (const [name, element] of Object.entries(panels)) if (!FOR_GROUPS.has(name)) element.remove();
    this.all.prepend(this.group.element);
    this.root.dataset.group = '';
  }

  _listen() {
    const {link} = this;
    const mine = (take) => (message) => { if (message.bench === this.number) take(message); };
    link.on('link', () => this.showState());
    link.on('frame', ({values}) => this.takeValues(values));
    link.on('status', mine(({status}) => this.takeStatus(status)));
    link.on('lines', mine((message) => this.takeLines(message)));
    link.on('bench', ({bench}) => this.takeBench(bench));
    link.on('lesson', ({benches}) => {
      this.takeBenches(benches);
      this.calming.askSoon();
    });
    link.on('alarm', ({alarm}) => this.takeAlarm(alarm));
    link.on('findings', mine(({findings}) => this.takeFindings(findings)));
    link.on('text', mine((message) => this.understood.show(message)));
    link.on('worth', mine(({channels}) => this.takeWorth(channels)));
    link.on('bands', mine(({channels}) => this.takeBandTimes(channels)));
    link.on('phases', ({phases}) => this.history.setPhases(phases));
    link.on('marker', ({marker}) => this.takeMarkers([...this.markers, marker]));
    link.on('calls', ({calls}) => this.takeCalls(calls));
    link.on('hello', (hello) => this.takeHello(hello));
  }

  takeCalls(calls) {
    this.calls = calls;
    this.showState();
  }

  /** A hello begins anew: another connection, or another place of a replay. */
  takeHello({benches, values, alarms, markers, session, findings, phases, calls = NO_CALLS}) {
    this.calls = calls;
    this.newest.clear();
    this.lines.restart();
    this.alarms.restart();
    this.findings.setSource(session.source);
    this.findings.take(findings.find(([bench]) => bench === this.number)?.[1] ?? []);
    this.understood.setSource(session.source);
    this.understood.show(null);
    this.calibration.setSource(session.source);
    this.said.setSource(session.source);
    this.worth = [];
    this.bandTimes = [];
    this.history.setPhases(phases ?? []);
    this.calming.restart();
    this.takeLines({lines: [], fields: [], steps: []});
    this.port.setSource(session.source);
    this.takeBenches(benches);
    for (const alarm of alarms) if (alarm.bench === this.number) this.alarms.take(alarm);
    this.takeMarkers(markers);
    this.history.restart(this.channel, this.index);
    this.takeValues(values);
    this.showNewest();
    this.showState();
  }

  /** Index of the channel shown: the chosen one, else the bench's main one. */
  get index() {
    const found = this.bench ? this.bench.channels.findIndex(({name}) => name === this.chosen) : -1;
    return found >= 0 ? found : this.bench?.main ?? 0;
  }

  get channel() {
    return this.bench?.channels[this.index] ?? null;
  }

  takeBenches(benches) {
    this.benches = benches;
    const found = benches.find(({number}) => number === this.number) ?? null;
    this.nowhere.hidden = found !== null;
    this.all.hidden = found === null;
    if (found) this.describe(found);
    else this.bench = null;
  }

  takeBench(bench) {
    this.benches = [...this.benches.filter(({number}) => number !== bench.number), bench];
    if (bench.number === this.number) this.takeBenches(this.benches);
    else if (this.bench) this.head.describe(this.bench, this.index, this.benches);
  }

  describe(bench) {
    const before = this.channel;
    this.bench = bench;
    const {channel, index} = this;
    this.head.describe(bench, index, this.benches);
    this.group?.describe(bench);
    this.history.picture.setMark(bench);
    if (before && before.name !== channel?.name) this.history.restart(channel, index);
    else this.history.describe(channel, index);
    this.settings.describe(channel);
    this.baseline.describe(channel, this.benches);
    this.showWorth();
    this.showBandTimes();
    document.title = `${bench.name} – Benchrow`;
    this.showNewest();
    this.takeStatus(bench.status);
  }

  channelOf(name) {
    return this.bench?.channels.find((one) => one.name === name) ?? PLAIN;
  }

  choose(index) {
    this.chosen = this.bench.channels[index].name;
    this.describe(this.bench);
    this.history.takeNewest(this.newest.get(this.index) ?? null);
    this.conversion.show(this.steps, this.channel);
    this.showState();
  }

  takeStatus(status) {
    this.status = status;
    this.port.show(status);
    this.showState();
  }

  takeValues(values) {
    let isNew = false;
    for (const [bench, channel, atMs, value, u, quality, reason, band] of values) {
      if (bench !== this.number) continue;
      this.newest.set(channel, {atMs, value, u, quality, reason, band});
      isNew ||= channel === this.index;
    }
    if (isNew) {
      this.history.takeNewest(this.newest.get(this.index));
      this.showNewest();
      this.showState();
    }
  }

  showNewest() {
    const newest = this.newest.get(this.index) ?? null;
    this.head.showValue(newest);
    this.conversion.showReading(newest, this.channel);
  }

  takeLines({lines, fields, steps}) {
    this.steps = steps;
    this.lines.take(lines);
    this.fields.show(fields);
    this.conversion.show(steps, this.channel);
  }

  takeAlarm(alarm) {
    if (alarm.bench !== this.number) return;
    this.alarms.take(alarm);
    this.calming.take(alarm);
    this.showState();
    if (alarm.event === 'acknowledge') this.told.forget(alarm.id);
    if (!isNewCall(alarm) || !this.told.may(alarm.id, performance.now())) return;
    announce(`Alarm: ${alarmWords(alarm, this.channelOf(alarm.channel), true)}. ${alarm.words}`);
  }

  takeFindings(findings) {
    for (const {words} of this.findings.take(findings)) announce(`Fault: ${words}`);
    this.showState();
  }

  takeWorth(channels) {
    this.worth = channels;
    this.showWorth();
  }

  takeBandTimes(channels) {
    this.bandTimes = channels;
    this.showBandTimes();
  }

  showBandTimes() {
    this.history.showBandTimes(this.bandTimes.filter(({channel}) => channel === this.channel?.name));
  }

  showWorth() {
    const {channel} = this;
    const worth = this.worth.find((one) => one.channel === channel?.name) ?? null;
    this.sure.show(worth, channel);
    this.calibration.show(worth);
  }

  takeMarkers(markers) {
    this.markers = markers.slice(-MOST_MARKERS);
    this.marking.show(this.markers);
    this.history.setMarkers(this.markers);
  }

  showState() {
    if (!this.bench) return;
    const {link, status} = this;
    const asked = askedAt(this.calls, this.number);
    this.said.show(asked);
    const newest = this.newest.get(this.index) ?? null;
    const linkLost = link.state === 'lost';
    const age = newest ? Math.max(0, link.now() - newest.atMs) : null;
    const oldAfterMs = status.old_after_ms || DEFAULT_OLD_MS;
    const isOld = age === null ? status.old : status.old || age > oldAfterMs;
    setAttribute(this.root, 'data-old', isOld || linkLost ? '' : null);
    this.history.setOld(isOld || linkLost);
    this.head.showState({
      status, alarms: [...this.alarms.standing.values()], findings: this.findings.standing,
      asked, mainChannel: this.channel?.name ?? '', newest, isOld, linkLost,
      ageMs: age !== null && linkLost ? Math.max(age, link.silentMs()) : age,
      channel: (name) => this.bench.channels.find((one) => one.name === name) ?? PLAIN,
    });
  }
}

function panel(name, title, ...content) {
  const id = `panel-${name}`;
  return make('section', {class: `panel panel-${name}`, 'aria-labelledby': id, tabindex: '-1'}, make('h3', {id}, title), ...content);
}

function journalLink(number) {
  return make('p', {class: 'alarms-journal'}, make('a', {href: `/journal?bench=${number}`}, 'All transitions: the journal'));
}

whenPresent('#bench', (root) => {
  const link = pageLink();
  const page = new BenchPage(root, link);
  const header = document.getElementById('header');
  fillHeader(header, link);
  if (page.group) return;
  fitRecordingControl(header, link);
  fitPhaseControl(header, link);
});
