/** What would calm an alarm that chatters: worked out by the bridge from the readings it kept, taken over with a press. */

import {ask, createTold} from '../asking.mjs';
import {formatClock} from '../numbers.mjs';
import {make, write} from '../page.mjs';

const PAUSE_MS = 1500; // after a rise, before the bridge is asked: several may come together

export class Calming {
  /**
   * @param {import('../link.mjs').Link} link
   * @param {number} bench
   */
  constructor(link, bench) {
    this.link = link;
    this.bench = bench;
    this._generation = 0; // answers to questions of an earlier one are passed over
    this._timer = null;
    this._said = '';
    this._list = make('ul', {class: 'calming-list'});
    this._told = createTold();
    this.element = make('section', {class: 'calming', 'data-role': 'calming', hidden: ''},
      make('h4', {}, 'Comes and goes too often'), this._list, this._told);
  }

  /** Another session, another place of a replay. */
  restart() {
    this._generation += 1;
    this._show([]);
    this.askSoon();
  }

  /** @param {{event: string}} alarm A transition of this bench. */
  take({event}) {
    if (event === 'rise' || event === 'return') this.askSoon();
  }

  /** Something may be otherwise now. */
  askSoon() {
    this._timer ??= setTimeout(() => this._ask(), PAUSE_MS);
  }

  async _ask() {
    this._timer = null;
    if (!this.element.isConnected) return; // a group's own page has no such panel
    const generation = this._generation;
    const answer = await this.link.look({kind: 'proposals', bench: this.bench});
    if (answer && generation === this._generation) this._show(answer.alarms);
  }

  _show(alarms) {
    this.element.hidden = !alarms.length && !this._told.textContent;
    const said = JSON.stringify(alarms.map(({id, proposals}) => [id, proposals.map(({key, value}) => [key, value])]));
    if (said === this._said) {
      alarms.forEach((alarm, i) => this._word(this._list.children[i], alarm));
      return; // the buttons stay, and the focus with them
    }
    this._said = said;
    this._list.replaceChildren(...alarms.map((alarm) => this._item(alarm)));
  }

  _item(alarm) {
    const item = make('li', {'data-alarm': alarm.id}, make('p', {class: 'calming-head'}, make('strong'), make('span')));
    for (const proposal of alarm.proposals) {
      const button = make('button', {type: 'button'}, 'Take it over');
      button.addEventListener('click', () => this._takeOver(alarm, proposal, button));
      item.append(make('div', {class: 'calming-proposal'}, make('p'), button));
    }
    if (!alarm.proposals.length) item.append(make('p', {}, 'No other setting was found that calms it.'));
    this._word(item, alarm);
    return item;
  }

  _word(item, {channel, limit, rises, readings, from_ms: fromMs, proposals}) {
    const [name, count] = item.querySelector('.calming-head').children;
    write(name, `${channel}, ${limit} limit`);
    const tried = fromMs === null ? '' : `; tried on the newest ${readings} readings, from ${formatClock(fromMs)} on`;
    write(count, `: came ${rises} times${tried}`);
    item.querySelectorAll('.calming-proposal').forEach((element, i) => {
      const {words} = proposals[i];
      write(element.firstElementChild, `${words[0].toUpperCase()}${words.slice(1)}.`);
      element.lastElementChild.setAttribute('aria-label', `Take it over: ${words}`);
    });
  }

  async _takeOver({channel, limit}, {key, value}, button) {
    const changes = [[['channel', channel, 'limit', limit, key], value]];
    if (await ask(this.link, {kind: 'revise', changes}, {told: this._told, button})) {
      this.element.closest('section[tabindex]')?.focus(); // the pressed button goes away
      this._said = '';
      await this._ask();
    }
  }
}
