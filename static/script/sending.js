// Forms marked data-keep are never lost: what is sent is kept in this browser until the server
// says that it has it, under a key of its own, so that sending it twice stores it once.
(() => {
  "use strict";

  const UNSENT = "jigbook.unsent.";
  const TYPED = "jigbook.typed.";
  const PATIENCE_MS = 8000;
  const LONGEST_WAIT_MS = 30000;
  const TYPED_KEPT_MS = 7 * 24 * 3600 * 1000;
  const person = document.body.dataset.person || "";
  if (!person) return;
  const ahead = new Map();
  let wait = 1000;
  let busy = false;
  let timer = 0;

  const one = (selector, root = document) => root.querySelector(selector);
  const say = (name, detail) => document.dispatchEvent(new CustomEvent(`jigbook:${name}`, { detail }));
  const token = () => (one("input[name=form_token]") || {}).value || "";
  const key = () => [...crypto.getRandomValues(new Uint8Array(12))].map((b) => b.toString(16).padStart(2, "0")).join("");

  // One entry of the store for each reading: two windows never overwrite each other's.
  const kept = () =>
    Object.keys(localStorage)
      .filter((name) => name.startsWith(UNSENT))
      .sort()
      .map((name) => ({ name, ...JSON.parse(localStorage.getItem(name)) }));
  const mine = () => kept().filter((entry) => entry.person === person);
  const open = () => mine().filter((entry) => !entry.refused);

  let count = 0;
  const keep = (form) => {
    const fields = [...new FormData(form)].filter(([name]) => name !== "form_token" && name !== "request_key");
    const entry = { person, action: form.getAttribute("action"), key: key(), fields };
    const name = `${UNSENT}${String(Date.now()).padStart(15, "0")}.${String(count++).padStart(4, "0")}.${entry.key}`;
    localStorage.setItem(name, JSON.stringify(entry));
    return name;
  };

  const strip = () => {
    const bar = one("[data-strip]");
    if (!bar) return;
    const all = kept();
    const refused = mine().find((entry) => entry.refused);
    const others = all.length > mine().length;
    const state = refused ? "refused" : open().length ? "waiting" : "saved";
    bar.classList.remove("saved", "waiting", "refused");
    bar.classList.add(state);
    if (state === "saved" && !others) return;
    one("[data-word]", bar).textContent = bar.dataset[busy && state === "waiting" ? "sending" : state];
    const why = one("[data-why]", bar);
    why.textContent = state === "waiting" ? `${open().length}` : "";
    if (others && state === "saved") why.textContent = bar.dataset.others;
    if (refused) explain(bar, why, refused);
  };

  const explain = (bar, why, entry) => {
    why.textContent = `${entry.refused} `;
    if (entry.signIn) {
      why.textContent += bar.dataset.signIn;
      return;
    }
    for (const [word, act] of [["correct", () => correct(entry)], ["drop", () => drop(entry)]]) {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "also";
      button.textContent = bar.dataset[word];
      button.addEventListener("click", act);
      why.append(button, " ");
    }
  };

  // What is typed and not sent yet, so that a reload loses nothing; forgotten after a week.
  const note = (action, fields) => localStorage.setItem(TYPED + action, JSON.stringify({ at: Date.now(), fields }));
  const noted = (action) => JSON.parse(localStorage.getItem(TYPED + action) || "null");
  const tidy = () => {
    for (const name of Object.keys(localStorage).filter((one) => one.startsWith(TYPED)))
      if (Date.now() - JSON.parse(localStorage.getItem(name)).at > TYPED_KEPT_MS) localStorage.removeItem(name);
  };

  const drop = (entry) => {
    localStorage.removeItem(entry.name);
    location.reload();
  };
  const correct = (entry) => {
    note(entry.action, entry.fields);
    localStorage.removeItem(entry.name);
    location.assign(entry.action);
  };

  const ask = async (path, options) => {
    const stop = new AbortController();
    const clock = setTimeout(() => stop.abort(), PATIENCE_MS);
    try {
      return await fetch(path, { ...options, signal: stop.signal, credentials: "same-origin" });
    } finally {
      clearTimeout(clock);
    }
  };

  const send = async (entry) => {
    const body = new URLSearchParams([["form_token", token()], ["request_key", entry.key], ...entry.fields]);
    const answer = await ask(entry.action, { method: "POST", body, headers: { Accept: "application/json" } });
    if (answer.status >= 500 || answer.status === 429 || answer.status === 408) throw new Error("later");
    const told = (answer.headers.get("content-type") || "").startsWith("application/json") ? await answer.json() : {};
    if (told.saved) {
      localStorage.removeItem(entry.name);
      return { entry, ...told };
    }
    const words = (told.errors || []).map((error) => error.message).join(" ");
    const signIn = answer.status === 401 || answer.status === 403;
    const { name, ...rest } = entry;
    localStorage.setItem(name, JSON.stringify({ ...rest, refused: words || String(answer.status), signIn }));
    return { entry, saved: false, errors: told.errors || [], words };
  };

  // In the order in which they were taken, one after the other; a lost network stops the row.
  const drain = async () => {
    if (busy) return null;
    clearTimeout(timer);
    let last = null;
    busy = true;
    try {
      for (let entry = open()[0]; entry; entry = open()[0]) {
        strip();
        last = await send(entry);
        wait = 1000;
        if (last.saved) say("stored", last);
      }
    } catch {
      timer = setTimeout(later, wait);
      wait = Math.min(2 * wait, LONGEST_WAIT_MS);
    } finally {
      busy = false;
      strip();
    }
    return last;
  };

  // What waited is stored: show the page as it stands now, unless somebody is typing on it.
  const later = async () => {
    const last = await drain();
    if (!last || !last.saved || open().length || typing()) return;
    if (last.plausible) await go(last.entry.action === location.pathname ? last.next : location.pathname);
  };
  const here = () => location.pathname + location.search;
  let shown = here();
  const typing = () => [...document.querySelectorAll("form[data-keep] input[name^='readings.']:not([type=hidden])")].some((field) => field.value);

  // A page that is shown in place of this one: fetched now, or fetched ahead for want of network.
  const put = (html, path) => {
    const page = new DOMParser().parseFromString(html, "text/html");
    const main = one("main", page);
    if (!main) return false;
    one("main").replaceWith(document.adoptNode(main));
    document.title = page.title;
    if (path !== here()) history.pushState({}, "", path);
    shown = here();
    scrollTo(0, 0);
    one("main").focus();
    arrive();
    return true;
  };
  const go = async (path) => {
    try {
      const answer = await ask(path, {});
      if (answer.ok && !answer.redirected && put(await answer.text(), path)) return;
    } catch {
      const page = ahead.get(path.split("?")[0]);
      if (page && put(page, path.split("?")[0])) return;
    }
    location.assign(path);
  };

  const lookAhead = async () => {
    let path = (one("[data-on]") || { dataset: {} }).dataset.on;
    for (let step = 0; step < 3 && path && path.includes("/steps/"); step++) {
      try {
        ahead.set(path, await (await ask(path, {})).text());
      } catch {
        return;
      }
      const found = new DOMParser().parseFromString(ahead.get(path), "text/html");
      path = (one("[data-on]", found) || { dataset: {} }).dataset.on;
    }
  };

  const fill = (form, fields) => {
    for (const [name, value] of fields) {
      const field = form.elements.namedItem(name);
      if (field && "value" in field && field.type !== "hidden" && field.type !== "checkbox") field.value = value;
    }
  };

  const arrive = () => {
    for (const form of document.querySelectorAll("form[data-keep]")) {
      const typed = noted(form.getAttribute("action"));
      if (typed) fill(form, typed.fields);
    }
    strip();
    say("page", {});
    setTimeout(lookAhead, 400);
  };

  // Without network: the next target of the station, or the step after it.
  const goOnWithout = (form) => {
    const here = one("[data-missing]");
    const names = form.elements.namedItem("readings.0.name");
    const left = Math.max(0, Number(here ? here.dataset.missing : 0) - 1);
    if (here) here.dataset.missing = String(left);
    for (const field of form.querySelectorAll("input[inputmode]")) field.value = "";
    if (left > 0) {
      if (names && names.selectedIndex + 1 < names.options.length) names.selectedIndex += 1;
      say("page", {});
    } else if (here && ahead.has(here.dataset.on)) put(ahead.get(here.dataset.on), here.dataset.on);
    say("waiting", {});
  };

  const empty = (form) =>
    [...form.querySelectorAll("input[name^='readings.0.']:not([type=hidden])")].slice(0, 3).some((field) => !field.value.trim());

  document.addEventListener("submit", async (event) => {
    const form = event.target.closest("form[data-keep]");
    if (!form || empty(form)) return;
    event.preventDefault();
    if (form.dataset.sent) return;
    form.dataset.sent = "1";
    const name = keep(form);
    localStorage.removeItem(TYPED + form.getAttribute("action"));
    const told = await drain();
    if (told && told.entry.name === name && told.saved) {
      say("taken", told);
      await go(told.next);
    } else if (told && told.entry.name === name) {
      localStorage.removeItem(name);
      note(told.entry.action, told.entry.fields);
      form.removeAttribute("data-keep");
      form.submit();
    } else goOnWithout(form);
    delete form.dataset.sent;
  });

  document.addEventListener("input", (event) => {
    const form = event.target.closest("form[data-keep]");
    if (!form) return;
    const fields = [...new FormData(form)].filter(([name]) => !["form_token", "request_key", "seen"].includes(name));
    note(form.getAttribute("action"), fields);
  });
  document.addEventListener("jigbook:go", (event) => go(event.detail.path));
  // Going back to another page loads it; a mere jump within this one (#…) must not send it again.
  window.addEventListener("popstate", () => here() === shown || location.reload());
  window.addEventListener("online", later);
  document.addEventListener("visibilitychange", () => document.hidden || later());
  tidy();
  arrive();
  later();
})();
