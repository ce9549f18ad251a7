/** The instructor's passcode: from the address, from this tab's memory, else asked for in a dialog of the page's own. */

import {make} from './page.mjs';

const WHERE =
  'It stands in the window where Benchrow was started. Anyone may look; only who has it may change something.';

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
      make('label', {for: 'passcode'}, WHERE),
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

const KEPT = 'benchrow.passcode';

/** @returns {string | null} The one that this tab knows. */
export function knownPasscode() {
  return sessionStorage.getItem(KEPT);
}

/** @param {string | null} passcode null forgets it. */
export function keepPasscode(passcode) {
  if (passcode === null) sessionStorage.removeItem(KEPT);
  else sessionStorage.setItem(KEPT, passcode);
}

/** Take a passcode out of the address (it would be read on the big screen) and keep it for this tab. */
export function takePasscodeFromAddress() {
  const found = /^#passcode=(.+)$/.exec(location.hash);
  if (!found) return;
  try {
    keepPasscode(decodeURIComponent(found[1]));
  } catch { // not the way an address writes letters: the dialog will ask
  }
  history.replaceState(history.state, '', location.pathname + location.search);
}
