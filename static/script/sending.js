// Forms marked data-keep are never lost: what is sent stays in this browser until the server says
// that it has it, under a key of its own, so that sending it twice stores it once.
(() => {
  "use strict";

  const UNSENT = "jigbook.unsent.";
  const TYPED = "jigbook.typed.";
  const PATIENCE_MS = 8000;
  const LONGEST_WAIT_MS = 30000;
  const WEEK_MS = 7 * 24 * 3600 * 1000;
  const { person } = document.body.dataset;
  if (!person) return;
  const ahead = new Map();
  let wait = 1000;
  let busy = false;
  let timer = 0;
  let count = 0;

  const one = (selector, root = document) => root.querySelector(selector);
  const say = (name, detail) => document.dispatchEvent(new CustomEvent(`jigbook:${name}`, { detail }));
  const forms = () => [...document.querySelectorAll("form[data-keep]")];
  const action = (form) => form.getAttribute("action");
  const get = (name) => JSON.parse(localStorage.getItem(name) || "null");
  const set = (name, value) => localStorage.setItem(name, JSON.stringify(value));
  const note = (path, fields) => set(TYPED + path, { at: Date.now(), fields });
  const names = (start) => Object.keys(localStorage).filter((name) => name.startsWith(start)).sort();
  const fieldsOf = (form) => [...new FormData(form)].filter(([name]) => !["form_token", "request_key"].includes(name));
  const coordinates = (form) => ["x", "y", "z"].map((axis) => form.elements.namedItem(`readings.0.${axis}`)).filter(Boolean);
  const here = () => location.pathname + location.search;
  let shown = here();
  const typing = () => forms().some((form) => coordinates(form).some((field) => field.value));
  const onOf = (page) => (one("[data-on]", page) || { dataset: {} }).dataset.on;

  // One entry of the store for each reading: two windows never overwrite each other's.
  const kept = () => names(UNSENT).map((name) => ({ name, ...get(name) }));
  const mine = () => kept().filter((entry) => entry.person === person);
  const open = () => mine().filter((entry) => !entry.refused);
  const keep = (form) => {
    const key = crypto.getRandomValues(new Uint32Array(4)).join("");
    const name = `${UNSENT}${Date.now()}.${String(count++).padStart(4, "0")}.${key}`;
    set(name, { person, action: action(form), key, fields: fieldsOf(form) });
    localStorage.removeItem(TYPED + action(form));
    return name;
  };

  const strip = () => {
    const bar = one("[data-strip]");
    if (!bar) return;
    const refused = mine().find((entry) => entry.refused);
    const others = kept().length > mine().length;
    const state = refused ? "refused" : open().length ? "waiting" : "saved";
    bar.className = `strip ${state}`;
    one("[data-away]").hidden = navigator.onLine && wait < 2e3;
    if (state === "saved" && !others) return;
    const why = one("[data-why]", bar);
    one("[data-word]", bar).textContent = bar.dataset[busy && state === "waiting" ? "sending" : state];
    const said = { waiting: `${bar.dataset.kept} ${open().length}`, saved: bar.dataset.others };
    why.textContent = said[state] || (refused.signIn ? bar.dataset.signIn : refused.refused);
    if (!refused || refused.signIn) return;
    for (const word of ["correct", "drop"]) why.append(" ", choice(bar.dataset[word], refused, word === "correct"));
  };
  const choice = (text, entry, correct) => {
    const button = document.createElement("button");
    const onclick = () => {
      localStorage.removeItem(entry.name);
      if (correct) note(entry.action, entry.fields);
      location.assign(correct ? entry.action : location.href);
    };
    return Object.assign(button, { type: "button", className: "also", textContent: text, onclick });
  };

  const ask = async (path, options) => {
    const stop = new AbortController();
    const clock = setTimeout(() => stop.abort(), PATIENCE_MS);
    try {
      const answer = await fetch(path, { ...options, signal: stop.signal });
      return { answer, text: await answer.text() };
    } finally {
      clearTimeout(clock);
    }
  };

  const send = async ({ name, ...entry }) => {
    const token = one("input[name=form_token]").value;
    const body = new URLSearchParams([["form_token", token], ["request_key", entry.key], ...entry.fields]);
    const { answer, text } = await ask(entry.action, { method: "POST", body, headers: { Accept: "application/json" } });
    const told = (answer.headers.get("content-type") || "").includes("json") ? JSON.parse(text) : {};
    // Whatever answers without saying that it is saved is not this server, or not well.
    if (answer.status >= 500 || [408, 429].includes(answer.status) || (answer.ok && !told.saved)) throw new Error();
    const signIn = [401, 403].includes(answer.status);
    if (told.saved) localStorage.removeItem(name);
    else {
      const refused = (told.errors || []).map((error) => error.message).join(" ") || String(answer.status);
      set(name, { ...entry, refused, signIn });
    }
    return { ...told, name, entry, signIn };
  };

  // In the order in which they were taken; a lost network stops the row.
  const drain = async () => {
    if (busy) return null;
    clearTimeout(timer);
    let last = null;
    busy = true;
    try {
      for (let next = open()[0]; next; next = open()[0]) {
        strip();
        last = await send(next);
        wait = 1000;
        if (last.saved) say("stored", last);
      }
    } catch {
      timer = setTimeout(later, wait);
      wait = Math.min(2 * wait, LONGEST_WAIT_MS);
    }
    busy = false;
    strip();
    return last;
  };

  // What waited is stored: show the page as it stands now, unless somebody is typing on it.
  const later = async () => {
    const last = await drain();
    if (last && last.saved && last.plausible && !open().length && !typing())
      await go(last.entry.action === location.pathname ? last.next : location.pathname);
  };

  // A page in place of this one: fetched now, or fetched ahead for want of network.
  const put = (html, path) => {
    const page = new DOMParser().parseFromString(html, "text/html");
    for (const part of [".top", "main"]) one(part).replaceWith(document.adoptNode(one(part, page)));
    document.title = page.title;
    if (path !== here()) history.pushState({}, "", path);
    shown = here();
    scrollTo(0, 0);
    one("main").focus();
    arrive();
  };
  const go = async (path) => {
    const bare = path.split("?")[0];
    try {
      const { answer, text } = await ask(path, {});
      if (answer.ok && !answer.redirected) put(text, path);
      else location.assign(path);
    } catch {
      if (ahead.has(bare)) put(ahead.get(bare), bare);
    }
  };
  const lookAhead = async (path, steps) => {
    if (!steps || !/\/steps\/|\/visual-check\//.test(path)) return;
    const { answer, text } = await ask(path, {});
    if (answer.redirected) return;
    ahead.set(path, text);
    await lookAhead(onOf(new DOMParser().parseFromString(text, "text/html")), steps - 1);
  };

  const arrive = () => {
    for (const form of forms())
      for (const [name, value] of (get(TYPED + action(form)) || { fields: [] }).fields) {
        const field = form.elements.namedItem(name);
        if (field && !["hidden", "checkbox"].includes(field.type)) field.value = value;
      }
    strip();
    say("page");
    setTimeout(() => lookAhead(onOf(document), 3).catch(() => {}), 400);
  };

  // Without network: the next target of the station, or the step after it.
  const goOnWithout = (form) => {
    const here = one("[data-missing]");
    const target = form.elements.namedItem("readings.0.name");
    const left = here ? here.dataset.missing - 1 : 0;
    for (const field of coordinates(form)) field.value = "";
    if (left > 0) {
      here.dataset.missing = left;
      if (target && target.selectedIndex + 1 < target.options.length) target.selectedIndex += 1;
      say("page");
    } else if (ahead.has(onOf(document))) put(ahead.get(onOf(document)), onOf(document));
    say("waiting");
  };

  document.addEventListener("submit", async (event) => {
    const form = event.target.closest("form[data-keep]");
    if (!form || coordinates(form).some((field) => !field.value.trim())) return;
    if (form.dataset.sent) {
      event.preventDefault();
      return;
    }
    let name = "";
    try {
      name = keep(form);
    } catch {
      // Where the browser keeps nothing the form goes its ordinary way.
      return;
    }
    event.preventDefault();
    form.dataset.sent = "1";
    const told = await drain();
    if (!told || told.name !== name || told.signIn) goOnWithout(form);
    else if (told.saved) {
      say("taken", told);
      await go(told.next);
    } else {
      // The page itself says what is wrong, beside the fields.
      localStorage.removeItem(name);
      note(action(form), told.entry.fields);
      form.submit();
    }
    delete form.dataset.sent;
  });
  document.addEventListener("input", (event) => {
    const form = event.target.closest("form[data-keep]");
    try {
      if (form) note(action(form), fieldsOf(form));
    } catch {
      // Where the browser keeps nothing, a reload loses it.
    }
  });
  document.addEventListener("jigbook:go", (event) => go(event.detail.path));
  // A jump within this page (#…) comes here too: loading it again would send its form again.
  addEventListener("popstate", () => here() === shown || location.reload());
  addEventListener("online", later);
  addEventListener("offline", strip);
  document.addEventListener("visibilitychange", () => document.hidden || later());
  for (const name of names(TYPED)) if (Date.now() - get(name).at > WEEK_MS) localStorage.removeItem(name);
  // What was refused because nobody was signed in is tried again now that somebody is.
  for (const { name, refused, signIn, ...entry } of mine()) if (signIn) set(name, entry);
  arrive();
  later();
})();
