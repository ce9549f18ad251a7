/** The figures that alarm practice asks of a session: how many alarms a person gets, and which are to blame. */

import {formatAge, formatClock, formatNumber} from '../numbers.mjs';
import {make, write} from '../page.mjs';

const PERIOD_MINUTES = 10;
const TOO_SHORT = 'told from 10 minutes on';
const LOADS = {
  'acceptable': '✓ acceptable for one person', 'manageable': 'manageable for one person', 'too many': '! too many for one person',
};

export class FiguresPanel {
  /** @param {(bench: number) => string} nameOf */
  constructor(nameOf) {
    this.nameOf = nameOf;
    this._facts = {};
    const facts = make('dl', {class: 'facts'});
    for (const [key, words] of Object.entries({
      calls: 'Alarms that called', average: 'In 10 minutes, on average', flood: 'Time in a flood', unseen: 'Not yet acknowledged',
    })) {
      this._facts[key] = make('dd', {'data-fact': `journal-${key}`}, '–');
      facts.append(make('dt', {}, words), this._facts[key]);
    }
    this._periods = make('ol', {class: 'periods', 'data-role': 'periods'});
    this._standing = list('standing');
    this._chattering = list('chattering');
    this._frequent = list('frequent');
    this.element = make('section', {class: 'panel journal-figures', 'aria-labelledby': 'journal-figures'},
      make('h3', {id: 'journal-figures'}, 'Figures of this session'), facts,
      make('h4', {}, 'Alarms in each 10 minutes'), this._periods, make('h4', {}, 'Standing now'), this._standing,
      make('h4', {}, 'Come and go too often'), this._chattering, make('h4', {}, 'Most frequent'), this._frequent,
      make('p', {class: 'soft journal-source'}, 'The marks are those that alarm practice gives for one operator of a plant; for a class they are a guide.'));
  }

  /**
   * @param {object} figures As the bridge tells them.
   * @param {number} nowMs Session time.
   */
  show(figures, nowMs) {
    const {calls, per_period: average, load, flood_share: flood, unacknowledged, seconds} = figures;
    write(this._facts.calls, `${calls} in ${formatAge(1000 * seconds)}`);
    const isTold = seconds >= 60 * PERIOD_MINUTES; // a minute with two alarms says nothing of ten
    write(this._facts.average, isTold ? `${formatNumber(average, average < 10 ? 1 : 0)}: ${LOADS[load]}` : TOO_SHORT);
    write(this._facts.flood, `${formatNumber(100 * flood, flood > 0 && flood < 0.1 ? 1 : 0)} %`);
    write(this._facts.unseen, String(unacknowledged));
    this._showPeriods(figures.periods);
    this._fill(this._standing, figures.standing, ({state, since_ms: ms}) => `${state}, for ${formatAge(nowMs - ms)}`, 'No alarm stands.');
    this._fill(this._chattering, figures.chattering, ({rises, most_in_a_minute: most, still: isStill}) =>
      `${rises} times, up to ${most} in a minute; ${isStill ? 'its bench page says what would calm it' : 'set otherwise since'}`, 'None.');
    this._fill(this._frequent, figures.most_frequent, ({calls: n}) => `${n} of ${calls}`, 'No alarm came.');
  }

  _showPeriods(periods) {
    const most = Math.max(1, ...periods);
    while (this._periods.childElementCount > periods.length) this._periods.lastElementChild.remove();
    while (this._periods.childElementCount < periods.length) {
      this._periods.append(make('li', {}, make('span', {class: 'period-name'}),
        make('span', {class: 'share-bar', 'aria-hidden': 'true'}, make('span')), make('span', {class: 'period-number'})));
    }
    periods.forEach((n, i) => {
      const [name, bar, number] = this._periods.children[i].children;
      write(name, `${formatClock(60_000 * PERIOD_MINUTES * i)} to ${formatClock(60_000 * PERIOD_MINUTES * (i + 1))}`);
      bar.firstElementChild.style.width = `${100 * n / most}%`;
      write(number, String(n));
    });
  }

  _fill(parent, alarms, words, none) {
    const shown = alarms.length ? alarms : [null];
    while (parent.childElementCount > shown.length) parent.lastElementChild.remove();
    while (parent.childElementCount < shown.length) parent.append(make('li', {}, make('a'), make('span')));
    shown.forEach((alarm, i) => {
      const [link, more] = parent.children[i].children;
      link.hidden = alarm === null;
      if (alarm) {
        link.href = `/bench/${alarm.bench}`;
        write(link, `${this.nameOf(alarm.bench)}: ${[alarm.channel, alarm.limit].filter(Boolean).join(', ')}`);
      }
      write(more, alarm ? words(alarm) : none);
    });
  }
}

const list = (role) => make('ul', {class: 'journal-list', 'data-role': role});
