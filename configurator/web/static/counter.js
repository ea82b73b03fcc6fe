// Steps are sent one after the other, each with what the page knows when it goes out; a newer step
// ends the stream of the older. Without this file the page works as plain forms.
(() => {
  const form = () => document.querySelector("form.counter");
  const kept = () => form()?.querySelector("[name=state]");

  // Papers and issuing open a page of their own.
  document.addEventListener("submit", (event) => {
    if (event.submitter?.hasAttribute("formaction")) event.stopPropagation();
  }, true);

  document.addEventListener("htmx:before:request", (event) => {
    const { sourceElement: asking, request } = event.detail.ctx;
    if (asking !== form()) return;
    const older = asking._htmx?.sse;
    if (older) {
      delete asking._htmx.sse;
      older.abortController.abort();
    }
    const now = new FormData(asking);
    for (const name of ["state", "seen"]) {
      request.body.delete(name);
      for (const value of now.getAll(name)) request.body.append(name, value);
    }
    document.getElementById("lost").hidden = true;
  });

  document.addEventListener("htmx:error", () => {
    document.getElementById("lost").hidden = false;
  });

  // A reload asks for the package as it was last.
  document.addEventListener("htmx:after:swap", () => {
    if (kept()) sessionStorage.setItem("package", kept().value);
  });
  document.addEventListener("DOMContentLoaded", () => {
    if (!kept()) return;
    const came = performance.getEntriesByType("navigation")[0]?.type;
    const last = sessionStorage.getItem("package");
    if (came !== "navigate" && last && last !== kept().value) {
      kept().value = last;
      form().requestSubmit();
    } else sessionStorage.setItem("package", kept().value);
  });
})();
