// Forms marked data-keep are never lost: they stay in this browser until the server says that it
// has them, under keys of their own, so that what is sent twice is stored once.
(() => {
  "use strict";

  const UNSENT = "jigbook.unsent.";
  const TYPED = "jigbook.typed.";
  const PATIENCE_MS = 8000;
  const LONGEST_WAIT_MS = 30000;
  const STEP = /\/(steps|visual-check)\//;
  const WEEK_MS = 7 * 24 * 3600 * 1000;
  const { person } = document.body.dataset;
  if (!person) return;
  const ahead = new Map();
  let wait = 1000;
  let busy = false;
  let timer = 0;

  const one = (selector, root = document) => root.querySelector(selector);
  const when = (name, act) => document.addEventListener(name, act);
  const say = (name, detail) => document.dispatchEvent(new CustomEvent(`jigbook:${name}`, { detail }));
  const forms = () => [...document.querySelectorAll("form[data-keep]")];
  const action = (form) => form.getAttribute("action");
  const get = (name) => JSON.parse(localStorage.getItem(name));
  const set = (name, value) => localStorage.setItem(name, JSON.stringify(value));
  const note = (path, fields) => set(TYPED + path, { at: Date.now(), fields });
  const names = (start) => Object.keys(localStorage).filter((name) => name.startsWith(start)).sort();
  const fieldsOf = (form) => [...new FormData(form)].filter(([name]) => !/^(form_token|request_key)$/.test(name));
  const coordinates = (form) => [...form.querySelectorAll(".xyz [name^=readings]")];
  const away = () => !navigator.onLine || wait > 1e3;
  const here = () => location.pathname + location.search;
  let shown = here();
  const typing = () => forms().flatMap(coordinates).some((field) => field.value);
  const parsed = (html) => new DOMParser().parseFromString(html, "text/html");
  const onOf = (page) => one("[data-on]", page)?.dataset.on;

  // One entry a reading: two windows never overwrite each other's.
  const kept = () => names(UNSENT).map((name) => ({ name, ...get(name) }));
  const mine = () => kept().filter((entry) => entry.person === person);
  const open = () => mine().filter((entry) => !entry.refused);
  const told = ({ what = "", fields }) => what + fields.map(([name, value]) => (/\.[xyz]$/.test(name) ? ` ${name.at(-1).toUpperCase()} ${value.replace(",", ".")}` : "")).join("");
  const keep = (form) => {
    const key = crypto.getRandomValues(new Uint32Array(4)).join("");
    const name = `${UNSENT}${Date.now()}.${key}`;
    const point = form.elements.namedItem("readings.0.name");
    const what = [one("h1"), ...(point ? point.selectedOptions : [])].map((part) => part.textContent).join(" · ");
    set(name, { person, action: action(form), key, what, fields: fieldsOf(form) });
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
    one("[data-away]").hidden = !away();
    if (state === "saved" && !others) return;
    const why = one("[data-why]", bar);
    one("[data-word]", bar).textContent = bar.dataset[busy && state === "waiting" ? "sending" : state];
    const said = { waiting: [`${bar.dataset.kept} ${open().length}`, ...open().map(told)].join("\n"), saved: bar.dataset.others };
    why.textContent = said[state] || (refused.signIn ? bar.dataset.signIn : `${told(refused)}: ${refused.refused}`);
    if (refused?.signIn !== false) return;
    for (const word of ["correct", "drop"]) why.append(" ", choice(bar.dataset[word], refused, word === "correct"));
  };
  const choice = (text, entry, correct) => {
    const onclick = () => {
      localStorage.removeItem(entry.name);
      if (correct) note(entry.action, entry.fields);
      go(correct ? entry.action : here());
    };
    return Object.assign(document.createElement("button"), { type: "button", className: "also", textContent: text, onclick });
  };

  const ask = async (path, options) => {
    const answer = await fetch(path, { ...options, signal: AbortSignal.timeout(PATIENCE_MS) });
    return { answer, text: await answer.text() };
  };

  const send = async ({ name, ...entry }) => {
    const token = ["form_token", one("input[name=form_token]").value];
    const body = new URLSearchParams([token, ["request_key", entry.key], ...entry.fields]);
    const { answer, text } = await ask(entry.action, { method: "POST", body, headers: { Accept: "application/json" } });
    const told = answer.headers.get("content-type")?.includes("json") ? JSON.parse(text) : {};
    // What answers without "saved" is not this server, or not well.
    if (answer.status >= 500 || [408, 429].includes(answer.status) || (answer.ok && !told.saved)) throw new Error();
    const signIn = [401, 403].includes(answer.status);
    if (told.saved) localStorage.removeItem(name);
    else {
      const refused = told.errors?.map((error) => error.message).join(" ") || answer.status;
      set(name, { ...entry, refused, signIn });
    }
    return { ...told, name, entry, signIn };
  };

  // In the order in which they were taken.
  const drain = async () => {
    if (busy) return null;
    clearTimeout(timer);
    let last = null;
    busy = true;
    try {
      for (let next; (next = open()[0]); ) {
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

  // What waited is stored: show the page anew, unless somebody types.
  const later = async () => {
    const last = await drain();
    if (last?.saved && last.plausible && !open().length && !typing())
      await go(last.entry.action === location.pathname ? last.next : location.pathname);
  };

  // A page in place of this one, fetched now or ahead.
  const put = (html, path) => {
    const page = parsed(html);
    for (const part of [".top", "main"]) one(part).replaceWith(one(part, page));
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
      if (answer.ok && !answer.redirected && (STEP.test(path) || path === here())) put(text, path);
      else location.assign(path);
    } catch {
      if (ahead.has(bare)) put(ahead.get(bare), bare);
      else {
        if (here() !== shown) history.pushState({}, "", shown);
        say("away");
      }
    }
  };
  const lookAhead = async (path) => {
    for (let steps = 3; steps-- && STEP.test(path); path = onOf(parsed(ahead.get(path)))) {
      const { answer, text } = await ask(path, {});
      if (answer.redirected) return;
      ahead.set(path, text);
    }
  };

  const refill = (form) => {
    for (const [name, value] of get(TYPED + action(form))?.fields || []) {
      const field = form.elements.namedItem(name);
      if (!["hidden", "checkbox"].includes(field?.type ?? "hidden")) field.value = value;
    }
  };
  const arrive = () => {
    forms().forEach(refill);
    strip();
    say("page");
    setTimeout(() => lookAhead(onOf(document)).catch(() => {}), 400);
  };

  // Without network: the next target or open step, if it was fetched.
  const goOnWithout = (form) => {
    const place = one("[data-missing]");
    const target = form.elements.namedItem("readings.0.name");
    const left = place?.dataset.missing - 1;
    const lines = [told(mine().at(-1))];
    const on = onOf(document);
    if (left > 0) {
      place.dataset.missing = left;
      if (target?.selectedIndex + 1 < target?.options.length) target.selectedIndex += 1;
      say("page");
    } else if (ahead.has(on)) put(ahead.get(on), on);
    else lines.push(one("[data-away]").dataset.stay);
    say("waiting", lines);
  };

  when("submit", async (event) => {
    const form = event.target.closest("form[data-keep]");
    if (!form) return;
    if (coordinates(form).some((field) => !field.value.trim())) {
      if (away()) event.preventDefault(), say("away");
      return;
    }
    if (form.dataset.sent) return event.preventDefault();
    let name = "";
    try {
      name = keep(form);
    } catch {
      // Nothing can be kept: the ordinary way.
      return;
    }
    event.preventDefault();
    form.dataset.sent = "1";
    // At once: what is typed meanwhile stays.
    for (const field of coordinates(form)) field.value = "";
    const last = await drain();
    const sent = last && last.name === name && !last.signIn;
    if (sent && !last.saved) {
      // The page itself says what is wrong.
      localStorage.removeItem(name);
      note(action(form), last.entry.fields);
      refill(form);
      form.submit();
    } else {
      ahead.delete(location.pathname);
      if (sent) {
        say("taken", last);
        await go(last.next);
      } else goOnWithout(form);
    }
    delete form.dataset.sent;
  });
  when("input", (event) => {
    const form = event.target.closest("form[data-keep]");
    try {
      if (form) note(action(form), fieldsOf(form));
    } catch {
      // Without storage a reload loses it.
    }
  });
  when("jigbook:go", (event) => go(event.detail));
  // Jumps (#…) come here too.
  addEventListener("popstate", () => here() === shown || go(here()));
  // Without network other ways would lead to the browser's page of errors.
  when("click", (event) => {
    const part = event.target.closest("a[href], form:not([data-keep], [data-photos]) button");
    if (!part || part.hash || !away() || !one("[data-away]")) return;
    event.preventDefault();
    if (part.href) go(part.pathname + part.search);
    else ask("/static/app.js", {}).then(() => part.form.requestSubmit(part), () => say("away"));
  });
  addEventListener("online", later);
  addEventListener("offline", strip);
  when("visibilitychange", () => document.hidden || later());
  for (const name of names(TYPED)) if (Date.now() - get(name).at > WEEK_MS) localStorage.removeItem(name);
  // What wanted a sign-in is tried again.
  for (const { name, refused, signIn, ...entry } of mine()) if (signIn) set(name, entry);
  arrive();
  later();
})();
