/** Ending and beginning the recording, from the header of any page. Not shown in a replay. */

import {make, setAttribute, write} from './page.mjs';

const WARNING = 'From then on nothing is kept of what the boards send. The recording so far stays.';

/**
 * Put the control into the header, behind the words about the recording.
 * @param {HTMLElement} header
 * @param {import('./link.mjs').Link} link
 */
export function fitRecordingControl(header, link) {
  const button = make('button', {type: 'button', class: 'header-button', 'data-role': 'record', hidden: ''});
  const told = make('span', {class: 'out-of-sight', role: 'status'});
  header.querySelector('[data-role=recording]').after(button, told);
  let isOn = false;
  link.on('hello', ({session}) => {
    isOn = session.recording !== null;
    button.hidden = session.source === 'replay';
    write(button, isOn ? 'End the recording' : 'Record');
  });
  button.addEventListener('click', async () => {
    if (button.getAttribute('aria-disabled') === 'true') return;
    if (isOn && !(await isSure())) return;
    setAttribute(button, 'aria-disabled', 'true');
    const reply = await link.control({kind: 'record', on: !isOn});
    setAttribute(button, 'aria-disabled', null);
    write(told, reply.words);
    setAttribute(button, 'title', reply.words || null);
    if (!reply.ok) write(button, `✕ ${reply.words}`);
  });
}

/** @returns {Promise<boolean>} */
function isSure() {
  const dialog = make('dialog', {class: 'passcode', 'aria-labelledby': 'record-title'},
    make('form', {method: 'dialog'},
      make('h2', {id: 'record-title'}, 'End the recording?'), make('p', {}, WARNING),
      make('div', {class: 'passcode-choices'},
        make('button', {type: 'submit', value: 'no', autofocus: ''}, 'Go on recording'),
        make('button', {type: 'submit', value: 'end', class: 'chief'}, 'End the recording'))));
  document.body.append(dialog);
  return new Promise((resolve) => {
    dialog.addEventListener('close', () => {
      dialog.remove();
      resolve(dialog.returnValue === 'end');
    });
    dialog.showModal();
  });
}
