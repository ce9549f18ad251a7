/** Boards that are plugged in and have no bench: a button in the header, and a dialog in which each is given one. */

import {make, write} from './page.mjs';

/**
 * @param {import('./link.mjs').Link} link
 * @returns {{element: HTMLElement, show: (boards: {board: string, port: string, words: string}[]) => void}}
 */
export function createSeating(link) {
  const element = make('button', {type: 'button', class: 'seating-button', 'data-role': 'boards', hidden: ''});
  const list = make('ul', {class: 'seating-list'});
  const close = make('button', {type: 'button'}, 'Close');
  const dialog = make('dialog', {class: 'passcode seating', 'aria-labelledby': 'seating-title'},
    make('h2', {id: 'seating-title'}, 'Boards without a bench'), list, close);
  close.addEventListener('click', () => dialog.close());
  element.addEventListener('click', () => {
    if (!dialog.isConnected) document.body.append(dialog);
    dialog.showModal();
  });
  let shown = '';
  return {
    element,
    show(boards) {
      const text = JSON.stringify(boards);
      if (text === shown) return; // a choice that is being made stays
      shown = text;
      element.hidden = boards.length === 0;
      write(element, boards.length === 1 ? '? 1 board without a bench' : `? ${boards.length} boards without a bench`);
      list.replaceChildren(...boards.map((board) => boardItem(link, board)));
      if (boards.length === 0 && dialog.open) dialog.close();
    },
  };
}

function boardItem(link, {board, port, words}) {
  const choice = make('select', {'aria-label': `Bench for the board at ${port}`},
    ...benchesOf(link).map(({number, name}) => make('option', {value: String(number)}, `${number}: ${name}`)));
  const seat = make('button', {type: 'button', class: 'chief'}, 'Seat it there');
  const answer = make('span', {role: 'status'});
  seat.addEventListener('click', async () => {
    const reply = await link.control({kind: 'seat', board, bench: Number(choice.value)});
    write(answer, reply.words);
  });
  return make('li', {}, make('p', {}, words ? `${port}: ${words}` : port), choice, seat, answer);
}

/** The lesson's benches and, where boards may sit at others, the next number. */
function benchesOf(link) {
  const benches = (link.hello?.benches ?? []).map(({number, name}) => ({number, name}));
  const next = 1 + Math.max(0, ...benches.map(({number}) => number));
  return [...benches, {number: next, name: 'a further bench'}];
}
