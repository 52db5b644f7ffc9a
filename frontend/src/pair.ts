/**
 * The page where a device pairs. The one-time token stands after the # of the link, where no log
 * sees it: it goes into the form and out of the address bar. The grower's tap sends the form, so
 * that nothing that merely looks at a link uses it up.
 */
function main(): void {
  const form = document.querySelector<HTMLFormElement>("[data-pair-form]");
  const field = form?.querySelector<HTMLInputElement>("[data-pair-token]");
  const token = location.hash.slice(1);
  if (!form || !field || !/^[A-Za-z0-9_-]{16,128}$/.test(token)) return;
  field.value = token;
  history.replaceState(null, "", location.pathname);
  form.querySelector<HTMLElement>("[data-pair-linked]")?.removeAttribute("hidden");
  form.querySelector<HTMLElement>("[data-pair-typed]")?.setAttribute("hidden", "");
}

main();
