/** The what-if page's part in the browser: the header, the colour scheme, and keeping the changes in the replay. */

import {ask} from './parts/asking.mjs';
import {fillHeader} from './parts/header.mjs';
import {pageLink} from './parts/link.mjs';
import {whenPresent} from './parts/page.mjs';

const DARK = '(prefers-color-scheme: dark)';
let nKept = 0;

whenPresent('#what-if', (page) => {
  const link = pageLink();
  fillHeader(document.getElementById('header'), link);
  link.on('hello', ({lesson}) => { document.title = `What if – ${lesson.title || 'Benchrow'}`; });
  followColours();
  for (const form of page.querySelectorAll('form')) form.addEventListener('submit', (event) => event.preventDefault());
  // Both hide themselves: the keyboard goes on where work begins.
  passFocus(page, '#what-if-stop', '#what-if-show');
  passFocus(page, '#what-if-undo', '#what-if-recording');
  page.querySelector('[data-role=keep]')?.addEventListener('click', ({currentTarget}) => keep(link, page, currentTarget));
});

function passFocus(page, from, to) {
  page.querySelector(from)?.addEventListener('click', () => page.querySelector(to).focus());
}

function followColours() {
  const scheme = matchMedia(DARK);
  const tell = () => setProps('what-if-look', {data: scheme.matches ? 'dark' : 'light'});
  scheme.addEventListener('change', tell);
  if (scheme.matches) tell();
}

/** Have the wall show the session with the changes; they start from the recorded lesson, as the page's do. */
async function keep(link, page, button) {
  const changes = JSON.parse(button.dataset.changes);
  const why = page.querySelector('#what-if-why').value.trim();
  const message = {kind: 'revise', changes, from_recorded: true, keep: why};
  const isKept = await ask(link, message, {told: page.querySelector('[data-role=told]'), button});
  if (isKept) setProps('what-if-kept', {data: ++nKept});
}

function setProps(id, props) {
  window.dash_clientside.set_props(id, props);
}
