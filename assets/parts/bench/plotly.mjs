/** The drawing library that Dash serves from this machine, fetched once and only by a page that draws with it. */

let loading = null;

/**
 * @param {string} url Where Dash serves it.
 * @returns {Promise<any>} Plotly.
 */
export function loadPlotly(url) {
  loading ??= window.Plotly ? Promise.resolve(window.Plotly) : new Promise((resolve, reject) => {
    const script = document.createElement('script');
    script.src = url;
    script.onload = () => resolve(window.Plotly);
    script.onerror = () => reject(new Error('the drawing library could not be fetched'));
    document.head.append(script);
  });
  return loading;
}
