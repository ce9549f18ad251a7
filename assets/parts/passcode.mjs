/** Asks the instructor for the passcode, in a dialog of the page's own. */

import {make} from './page.mjs';

/**
 * @param {string} words Why it is asked again; "" the first time.
 * @returns {Promise<string | null>} null when the dialog was closed without one.
 */
export function askPasscode(words) {
  const entry = make('input', {id: 'passcode', type: 'password', autocomplete: 'off', required: '', class: 'passcode-entry'});
  const why = make('p', {class: 'passcode-why', role: 'alert'}, words);
  const dialog = make('dialog', {class: 'passcode', 'aria-labelledby': 'passcode-title'},
    make('form', {method: 'dialog'},
      make('h2', {id: 'passcode-title'}, 'Instructor’s passcode'),
      make('label', {for: 'passcode'}, 'It stands in the window where Benchrow was started. Anyone may look; only who has it may change something.'),
      entry,
      why,
      make('div', {class: 'passcode-choices'},
        make('button', {type: 'button', value: 'cancel'}, 'Cancel'),
        make('button', {type: 'submit', value: 'unlock', class: 'chief'}, 'Unlock'))));
  dialog.querySelector('[value=cancel]').addEventListener('click', () => dialog.close('cancel'));
  document.body.append(dialog);
  return new Promise((resolve) => {
    dialog.addEventListener('close', () => {
      dialog.remove();
      resolve(dialog.returnValue === 'unlock' && entry.value ? entry.value : null);
    });
    dialog.showModal();
  });
}
