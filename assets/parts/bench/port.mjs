/** The bench's port: what is known of it, and letting it go for an upload. */

import {formatNumber} from '../numbers.mjs';
import {make, write} from '../page.mjs';
import {ask, createTold} from '../asking.mjs';

const ROWS = {
  link: 'Connection', port: 'Port', baud: 'Baud rate', rate: 'Lines per second', lines: 'Lines so far',
  aside: 'Lines set aside', layout: 'Layout',
};

export class PortPanel {
  /**
   * @param {import('../link.mjs').Link} link
   * @param {number} bench
   */
  constructor(link, bench) {
    this._values = {};
    const list = make('dl', {class: 'facts', 'data-role': 'port'});
    for (const [key, words] of Object.entries(ROWS)) {
      this._values[key] = make('dd', {'data-fact': key}, '–');
      list.append(make('dt', {}, words), this._values[key]);
    }
    const button = (kind, words) => {
      const one = make('button', {type: 'button', 'data-does': kind}, words);
      one.addEventListener('click', () => ask(link, {kind, bench}, {told: this._told, button: one}));
      return one;
    };
    this._told = createTold();
    this._acts = make('div', {class: 'acts'}, button('release', 'Let the port go (to upload)'), button('take_back', 'Take the port back'));
    this._none = make('p', {class: 'soft'}, 'A replay reads no board: there is no port to let go.');
    this.element = make('div', {}, list, this._acts, this._none, this._told);
    this.setSource('live');
  }

  /** @param {'live' | 'replay'} source */
  setSource(source) {
    this._acts.hidden = source === 'replay';
    this._none.hidden = source !== 'replay';
  }

  /** @param {object} status As the bridge tells it. */
  show(status) {
    const {link, words, remedy, port, baud, lines_per_second: rate, n_lines: n, n_set_aside: aside, layout} = status;
    const told = {
      link: [link, words === link ? '' : words, link === 'released' ? '' : remedy].filter(Boolean).join(': '),
      port: port || 'none', baud: baud ? String(baud) : '–', rate: formatNumber(rate, rate < 10 ? 1 : 0),
      lines: String(n), aside: aside ? `${aside} (${shareWords(aside, n)})` : '0', layout: layout || 'not known yet',
    };
    for (const [key, value] of Object.entries(told)) write(this._values[key], value);
    for (const one of this._acts.children) one.classList.toggle('chief', one.dataset.does === 'take_back' && link === 'released');
  }
}

function shareWords(part, all) {
  if (!all) return '–';
  const percent = (100 * part) / all;
  return percent < 0.1 ? 'below 0.1 %' : `${formatNumber(percent, percent < 10 ? 1 : 0)} %`;
}
