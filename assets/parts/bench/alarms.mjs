/** A bench's alarms: those that stand, with what to do about them, and what they did in the stretch of time shown. */

import {alarmWords, eventWords, isHeld, isUnseen, measured, stateWords} from '../alarm-words.mjs';
import {readNumber, refuse} from '../entering.mjs';
import {formatClock} from '../numbers.mjs';
import {make, setAttribute, write} from '../page.mjs';
import {ask, createTold} from '../asking.mjs';

const MOST_EVENTS = 50;
const MOST_MINUTES = 240; // the bridge's bound for a shelf
const USUAL_MINUTES = '5';

export class AlarmsPanel {
  /**
   * @param {import('../link.mjs').Link} link
   * @param {(channel: string) => {unit: string, decimals: number}} channelOf
   */
  constructor(link, channelOf) {
    this.link = link;
    this.channelOf = channelOf;
    /** @type {Map<string, object>} Not normal, by id; bounded by the lesson's limits. */
    this.standing = new Map();
    /** @type {Map<string, AlarmItem>} */
    this._items = new Map();
    this._list = make('ul', {class: 'alarms-standing', 'data-role': 'alarm'});
    this._none = make('p', {class: 'soft'}, 'No alarm stands.');
    this._told = createTold();
    this._log = make('ol', {class: 'alarms-log', 'data-role': 'alarms-log'});
    this._logHead = make('h4', {}, 'In the stretch of the history');
    this.element = make('div', {}, this._none, this._list, this._told, this._logHead, this._log);
    this.showLog([]);
  }

  restart() {
    this.standing.clear();
    this._show();
  }

  /** @param {object} alarm As the bridge tells it. */
  take(alarm) {
    if (alarm.state === 'normal') this.standing.delete(alarm.id);
    else this.standing.set(alarm.id, alarm);
    this._show();
  }

  /** @param {object[]} alarms Transitions, old to new. */
  showLog(alarms) {
    const events = alarms.slice(-MOST_EVENTS).toReversed();
    this._logHead.hidden = this._log.hidden = !events.length;
    while (this._log.childElementCount > events.length) this._log.lastElementChild.remove();
    while (this._log.childElementCount < events.length) this._log.append(make('li'));
    events.forEach((alarm, i) => write(this._log.children[i], this._eventWords(alarm)));
  }

  _eventWords({event, kind, limit, at, channel, value, t_ms: ms, who, state, before, reason}) {
    const {unit, decimals} = this.channelOf(channel);
    const by = who && who !== 'rule' ? ` by ${who}` : '';
    const aside = isHeld({state}) && state === before ? `, while ${state}` : '';
    const number = measured(value, kind, unit, decimals);
    const name = [channel, `${limit} ${kind === 'finding' ? 'alarm' : 'limit'}`].filter(Boolean).join(', ');
    const told = [`${name} ${measured(at, kind, unit, decimals)}`.trim(), number && `at ${number}`, reason].filter(Boolean);
    return `${formatClock(ms)} ${eventWords(event)}${by}${aside}: ${told.join(', ')}`;
  }

  _show() {
    for (const [id, item] of this._items) {
      if (this.standing.has(id)) continue;
      if (item.element.contains(document.activeElement)) item.element.closest('section')?.focus();
      item.element.remove();
      this._items.delete(id);
    }
    for (const alarm of this.standing.values()) {
      let item = this._items.get(alarm.id);
      if (!item) {
        item = new AlarmItem(alarm.id, this.link, this._told);
        this._items.set(alarm.id, item);
        this._list.append(item.element);
      }
      item.show(alarm, this.channelOf(alarm.channel));
    }
    this._none.hidden = this.standing.size > 0;
  }
}

/** One alarm that is not normal, with what a person may do about it. */
class AlarmItem {
  constructor(id, link, told) {
    this.id = id;
    this.link = link;
    this.told = told;
    this._symbol = make('span', {class: 'alarm-symbol', 'aria-hidden': 'true'});
    this._words = make('strong');
    this._state = make('p', {class: 'alarm-state'});
    this._message = make('p', {class: 'alarm-words'});
    this._advice = make('p', {class: 'alarm-advice'});
    this._acts = {
      acknowledge: this._button('Acknowledge', 'acknowledge', 'chief'),
      reset: this._button('Reset', 'reset', 'chief'),
      unshelve: this._button('Take off the shelf', 'unshelve'),
      restore: this._button('Back into service', 'restore'),
      shelve: make('button', {type: 'button', 'aria-expanded': 'false'}, 'Shelve …'),
      remove: this._button('Out of service', 'remove'),
    };
    this._acts.shelve.addEventListener('click', () => this._openShelf(this._form.hidden));
    this._form = this._shelfForm();
    this.element = make('li', {class: 'alarm'},
      make('p', {class: 'alarm-head'}, this._symbol, this._words), this._state, this._message, this._advice,
      make('div', {class: 'acts alarm-acts'}, ...Object.values(this._acts)), this._form);
  }

  _button(words, kind, cls = '') {
    const button = make('button', {type: 'button', ...(cls && {class: cls})}, words);
    button.addEventListener('click', () => ask(this.link, {kind, alarm: this.id}, {told: this.told, button}));
    return button;
  }

  _shelfForm() {
    const entry = (name, words, more) => {
      const id = `shelf-${name}-${this.id}`;
      const input = make('input', {type: 'text', id, autocomplete: 'off', class: 'entry', ...more});
      return [make('div', {class: 'form-row'}, make('label', {for: id}, words), input), input];
    };
    const [minutesRow, minutes] = entry('minutes', 'Minutes', {inputmode: 'decimal', value: USUAL_MINUTES});
    const [reasonRow, reason] = entry('reason', 'Why', {maxlength: 200, placeholder: 'the cup is being stirred'});
    const button = make('button', {type: 'submit'}, 'Shelve it');
    const form = make('form', {class: 'alarm-shelf', novalidate: '', hidden: ''}, minutesRow, reasonRow, button);
    form.addEventListener('submit', async (event) => {
      event.preventDefault();
      const wanted = readNumber(minutes.value);
      if (wanted === null || wanted <= 0 || wanted > MOST_MINUTES) {
        refuse(this.told, minutes, `A shelf lasts up to ${MOST_MINUTES} minutes`);
        return;
      }
      if (!reason.value.trim()) {
        refuse(this.told, reason, 'Write why it is shelved: others will ask');
        return;
      }
      const message = {kind: 'shelve', alarm: this.id, minutes: wanted, reason: reason.value.trim()};
      if (await ask(this.link, message, {told: this.told, button})) this._openShelf(false);
    });
    this._minutes = minutes;
    return form;
  }

  _openShelf(isOpen) {
    const hadFocus = this._form.contains(document.activeElement);
    this._form.hidden = !isOpen;
    setAttribute(this._acts.shelve, 'aria-expanded', String(isOpen));
    if (isOpen) this._minutes.focus();
    else if (hadFocus) this.element.closest('section')?.focus();
  }

  show(alarm, channel) {
    const {symbol, words} = stateWords(alarm);
    const number = measured(alarm.value, alarm.kind, channel.unit, channel.decimals);
    const name = alarmWords(alarm, channel, true);
    this.element.dataset.state = alarm.state;
    setAttribute(this.element, 'data-calm', isUnseen(alarm) ? null : '');
    write(this._symbol, symbol);
    write(this._words, name);
    const when = number ? `${number} at ${formatClock(alarm.t_ms)}` : `since ${formatClock(alarm.t_ms)}`;
    write(this._state, `${words}; ${when}; priority ${alarm.priority}`);
    write(this._message, alarm.words);
    write(this._advice, alarm.advice ? `What to do: ${alarm.advice}` : '');
    const may = {
      acknowledge: isUnseen(alarm),
      reset: alarm.state === 'latched acknowledged',
      unshelve: alarm.state === 'shelved',
      restore: alarm.state === 'out of service',
      shelve: !isHeld(alarm),
      remove: alarm.state !== 'out of service',
    };
    for (const [act, button] of Object.entries(this._acts)) {
      if (!may[act] && button === document.activeElement) this.element.closest('section')?.focus();
      button.hidden = !may[act];
      setAttribute(button, 'aria-label', `${button.textContent.replace(' …', '')}: ${name}`);
    }
    if (!may.shelve) this._openShelf(false);
  }
}
