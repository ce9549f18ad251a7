/** The compare page's part in the browser: the header, the events that are moved, the colour scheme of pictures. */

import {eventLanes} from './parts/event-lanes.mjs';
import {fillHeader} from './parts/header.mjs';
import {pageLink} from './parts/link.mjs';
import {whenPresent} from './parts/page.mjs';

const DARK = '(prefers-color-scheme: dark)';

whenPresent('#compare', () => {
  const link = pageLink();
  fillHeader(document.getElementById('header'), link);
  link.on('hello', ({lesson}) => { document.title = `Compare – ${lesson.title || 'Benchrow'}`; });
  const scheme = matchMedia(DARK);
  const tell = () => window.dash_clientside.set_props('compare-look', {data: scheme.matches ? 'dark' : 'light'});
  scheme.addEventListener('change', tell);
  if (scheme.matches) tell();
  eventLanes(document.getElementById('compare-lanes'), (bench, seconds) => {
    window.dash_clientside.set_props({'compare-event': bench}, {value: seconds === null ? '' : seconds.toFixed(2)});
  });
  document.querySelector('.compare-choices')?.addEventListener('submit', (event) => event.preventDefault());
});
