// Steps are sent one after the other, each with what the page knows when it goes out; a newer step
// ends the stream of the older. Without this file the page works as plain forms.
(() => {
  const form = () => document.querySelector("form.counter");
  const kept = () => form()?.querySelector("[name=state]");

  // Papers and issuing open a page of their own, once the steps before are answered.
  let open = 0;
  let next = null;
  let tapped = null;
  let asked = "";
  document.addEventListener("submit", (event) => {
    if (!event.submitter?.hasAttribute("formaction")) {
      if (event.target !== form()) return;
      open += 1;
      form().dataset.answering = "";
      tapped = event.submitter;
      if (tapped?.value.split(":")[0] === "why") asked = tapped.id;
      return;
    }
    event.stopPropagation();
    if (open && event.target === form()) {
      event.preventDefault();
      next = event.submitter;
    }
  }, true);
  document.addEventListener("htmx:finally:request", (event) => {
    if (event.detail.ctx.sourceElement !== form()) return;
    open = Math.max(0, open - 1);
    if (open) return;
    if (!form()._htmx?.sse) delete form().dataset.answering;
    const [what, , choice] = tapped?.value.split(":") ?? [];
    // A choice that is still to be made comes into view when it is asked for.
    if (what === "look" && choice) {
      const card = document.querySelector(`[id="p-c-${choice}"] fieldset`);
      card?.scrollIntoView();
      card?.querySelector("button, input")?.focus({ preventScroll: true });
    }
    // What has been added leaves its fields.
    if (!document.querySelector(".problems")) {
      for (const one of tapped?.closest("fieldset.typed")?.elements ?? []) {
        if (one.tagName === "INPUT") one.value = one.defaultValue;
      }
    }
    if (tapped?.id === "close-why") document.getElementById(asked)?.focus();
    tapped = null;
    if (!next) return;
    const button = document.getElementById(next.id) ?? next;
    next = null;
    button.click();
  });

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

  document.addEventListener("htmx:sse:before:message", (event) => {
    if (event.detail.connection !== form()?._htmx?.sse) event.detail.cancelled = true;
  });

  document.addEventListener("htmx:sse:close", (event) => {
    if (!open && event.detail.connection === form()?._htmx?.sse) delete form().dataset.answering;
  });

  // Enter in a field does what the button beside it does.
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.isComposing) return;
    if (!event.target.matches("form.counter input")) return;
    const button = event.target.closest(".find, .taps, .typed")
      ?.querySelector(".taps [value^='count:'], :is(.find, .typed) button");
    if (!button) return;
    event.preventDefault();
    button.click();
  });

  document.addEventListener("htmx:error", () => {
    document.getElementById("lost").hidden = false;
  });

  // A reload asks for the package as it was last.
  document.addEventListener("htmx:after:swap", () => {
    if (kept()) sessionStorage.setItem("package", kept().value);
  });
  const restore = () => {
    const came = performance.getEntriesByType("navigation")[0]?.type;
    const last = sessionStorage.getItem("package");
    if (came === "navigate" || !last || last === kept().value) {
      sessionStorage.setItem("package", kept().value);
      // What a page came without follows it.
      document.getElementById("settle")?.click();
      return;
    }
    kept().value = last;
    // What the package of then could not undo, the one of now may.
    for (const id of ["undo", "redo"]) document.getElementById(id).disabled = false;
    form().requestSubmit();
  };
  // What answers a form, such as the package of a file, gets an address: going back to it from
  // another page then sends no form again. Proxies take a line of 8 kB, and each tap tells it.
  const address = () => {
    const wishes = document.querySelector("form[action='/wishes'].typed");
    if (new URLSearchParams(location.search).has("state") || !(kept() || wishes)) return;
    const typed = kept() ? [["state", kept().value]] : [...new FormData(wishes)];
    const now = typed.filter(([name]) => name !== "key"); // another package gets another key
    const told = `${kept() ? "/package" : "/wishes"}?${new URLSearchParams(now)}`;
    if (told.length < 7000) history.replaceState(null, "", told);
  };
  let ready = false;
  const begin = () => {
    if (ready || !form()?._htmx?.initialized) return;
    ready = true;
    restore();
  };
  // Only when a step is sent from within the page: a whole new page would lose the next tap.
  document.addEventListener("htmx:after:init", begin);
  document.addEventListener("DOMContentLoaded", begin);
  document.addEventListener("DOMContentLoaded", address);

  // Times are told by the clock of whoever reads them; the server may stand in another zone.
  const dated = { day: "numeric", month: "long", year: "numeric" };
  const timed = { hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZoneName: "short" };
  for (const time of document.querySelectorAll("time")) {
    const at = new Date(time.dateTime);
    const told = (form) => at.toLocaleString(document.documentElement.lang, form);
    time.textContent = `${told(dated)}, ${told(timed)}`;
  }

  // A unit is dragged to another side; its buttons do the same.
  let moved = null;
  const sideAt = (event) =>
    document.elementFromPoint(event.clientX, event.clientY)?.closest("[data-side]");
  const sides = () => document.querySelectorAll("[data-side]");
  const buttonTo = (side) => {
    const to = `place:${moved?.dataset.unit}:${side?.dataset.side}`;
    return [...moved?.querySelectorAll("button") ?? []].find((one) => one.value === to);
  };
  const put = (event) => {
    sides().forEach((side) => side.classList.remove("over", "no"));
    moved?.classList.remove("moving");
    const button = event.type === "pointerup" ? buttonTo(sideAt(event)) : null;
    moved = null;
    button?.click();
  };
  document.addEventListener("pointerdown", (event) => {
    const name = event.target.closest?.(".sides .unit b");
    if (!name || event.button) return;
    event.preventDefault();
    moved = name.closest(".unit");
    moved.classList.add("moving");
    sides().forEach((side) =>
      side.classList.toggle("no", !side.contains(moved) && !buttonTo(side)));
  });
  document.addEventListener("pointermove", (event) => {
    if (!moved) return;
    const { clientY } = event;
    const on = clientY > innerHeight - 60 ? 20 : clientY < 160 ? -20 : 0;
    for (const one of [moved.closest("aside"), document.scrollingElement]) one?.scrollBy(0, on);
    const over = sideAt(event);
    sides().forEach((side) => side.classList.toggle("over", side === over && !!buttonTo(side)));
  });
  document.addEventListener("pointerup", put);
  document.addEventListener("pointercancel", put);
})();
