/** Taking the baseline from a bench, or from all of them, at a press: where the lesson gives it no number. */

import {ask, createTold} from '../asking.mjs';
import {formatNumber} from '../numbers.mjs';
import {make, write} from '../page.mjs';

const NONE = 'None yet, so this channel has no bands here.';
const HOW = 'The baseline is the mean of a steady stretch; the bands lie above it. Benches that are not steady are named and left as they are.';

export class BaselinePanel {
  /**
   * @param {import('../link.mjs').Link} link
   * @param {number} bench
   */
  constructor(link, bench) {
    this._channel = null;
    this._benches = [];
    this._now = make('p', {'data-role': 'baseline'});
    const told = createTold();
    const button = (does, words, benches) => {
      const one = make('button', {type: 'button', 'data-does': does}, words);
      one.addEventListener('click', () =>
        ask(link, {kind: 'baseline', benches: benches(), channel: this._channel.name}, {told, button: one}));
      return one;
    };
    const all = () => this._benches.filter(({channels}) => channels.some(({name}) => name === this._channel.name));
    this.element = make('div', {}, this._now, make('p', {class: 'soft'}, HOW), make('div', {class: 'acts'},
      button('baseline', 'Baseline now', () => [bench]),
      button('baseline-all', 'Baseline now, at all benches', () => all().map(({number}) => number))), told);
  }

  /**
   * @param {object | null} channel As the bridge describes it.
   * @param {object[]} benches All of the session.
   */
  describe(channel, benches) {
    this._channel = channel;
    this._benches = benches;
    const panel = this.element.closest('section');
    if (panel) panel.hidden = !channel?.takes_baseline;
    if (!channel) return;
    const {baseline, decimals, unit} = channel;
    write(this._now, baseline === null ? NONE : `${formatNumber(baseline, decimals + 1)} ${unit}`.trim());
  }
}
