/** Read by htmx when it starts, so this must be imported before it. */

const wishes = {
  includeIndicatorCSS: false,
  history: "reload",
  mode: "same-origin",
  extensions: "bench",
};

if (document.querySelector('meta[name="htmx-config"]') === null) {
  const meta = document.createElement("meta");
  meta.name = "htmx-config";
  meta.content = JSON.stringify(wishes);
  document.head.append(meta);
}

export {};
