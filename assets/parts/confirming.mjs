/** A second thought before something that can't be undone, in a dialog of the page's own. */

import {make} from './page.mjs';

/**
 * @param {{title: string, words: string, stay: string, go: string}} asked The words of the two choices: leave it, do it.
 * @returns {Promise<boolean>} Whether to do it.
 */
export function isSure({title, words, stay, go}) {
  const dialog = make('dialog', {class: 'passcode', 'aria-labelledby': 'sure-title'},
    make('form', {method: 'dialog'},
      make('h2', {id: 'sure-title'}, title), make('p', {}, words),
      make('div', {class: 'passcode-choices'},
        make('button', {type: 'submit', value: 'stay', autofocus: ''}, stay),
        make('button', {type: 'submit', value: 'go', class: 'chief'}, go))));
  document.body.append(dialog);
  return new Promise((resolve) => {
    dialog.addEventListener('close', () => {
      dialog.remove();
      resolve(dialog.returnValue === 'go');
    });
    dialog.showModal();
  });
}
