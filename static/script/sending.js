// Forms marked data-keep are never lost: they stay in this browser, photos and all, until the server
// says that it has them, under keys of their own, so that what is sent twice is stored once.
(() => {
  "use strict";

  const UNSENT = "jigbook.unsent.";
  const TYPED = "jigbook.typed.";
  const PATIENCE_MS = 8000;
  const PATIENCE_FOR_PHOTOS_MS = 120000;
  const LONGEST_WAIT_MS = 30000;
  const LOST = { refused: "lost", signIn: false };
  const STEP = /\/(steps|visual-check)\//;
  const WEEK_MS = 7 * 24 * 3600 * 1000;
  const { person } = document.body.dataset;
  if (!person) return;
  const ahead = new Map();
  // Readings do not wait behind photos.
  const lanes = [false, true].map((photos) => ({ photos, wait: 1000, busy: false, timer: 0 }));
  let full = false;
  let wrong = "";
  let stamp = 0;

  const one = (selector, root = document) => root.querySelector(selector);
  const when = (name, act) => document.addEventListener(name, act);
  const say = (name, detail) => document.dispatchEvent(new CustomEvent(`jigbook:${name}`, { detail }));
  const forms = () => [...document.querySelectorAll("form[data-keep]")];
  const action = (form) => form.getAttribute("action");
  const get = (name) => JSON.parse(localStorage.getItem(name));
  const set = (name, value) => localStorage.setItem(name, JSON.stringify(value));
  const note = (path, fields) => set(TYPED + path, { at: Date.now(), fields });
  const names = (start) => Object.keys(localStorage).filter((name) => name.startsWith(start)).sort();
  const fieldsOf = (form, by) => [...new FormData(form, by)].filter(([name]) => !/^(form_token|request_key|photo)$/.test(name));
  const coordinates = (form) => [...form.querySelectorAll(".xyz [name^=readings]")];
  const away = () => !navigator.onLine || lanes.some((lane) => lane.wait > 1e3);
  const here = () => location.pathname + location.search;
  let shown = here();
  const typing = () => forms().flatMap(coordinates).some((field) => field.value !== field.defaultValue);
  const parsed = (html) => new DOMParser().parseFromString(html, "text/html");
  const onOf = (page) => one("[data-on]", page)?.dataset.on;

  // Photos are too large for localStorage: they lie beside it, under the names of their entries.
  const photos = async (act) => {
    const opening = indexedDB.open("jigbook");
    opening.onupgradeneeded = () => opening.result.createObjectStore("photos");
    const base = await new Promise((done, fail) => {
      opening.onsuccess = () => done(opening.result);
      opening.onerror = fail;
    });
    const doing = base.transaction("photos", "readwrite", { durability: "strict" });
    const asked = act(doing.objectStore("photos"));
    base.close();
    return new Promise((done, fail) => {
      doing.oncomplete = () => done(asked.result);
      doing.onabort = fail;
    });
  };

  // One entry a reading or photo: two windows never overwrite each other's.
  const kept = () => names(UNSENT).map((name) => ({ name, ...get(name) }));
  const mine = () => kept().filter((entry) => entry.person === person);
  const open = () => mine().filter((entry) => !entry.refused);
  const waiting = () => open().filter((entry) => forms().some((form) => action(form) === entry.action));
  const told = ({ what = "", fields }) => what + fields.map(([name, value]) => (/\.[xyz]$/.test(name) ? ` ${name.at(-1).toUpperCase()} ${value.replace(",", ".")}` : "")).join("");
  const keep = async (form, by, file, made) => {
    const key = crypto.getRandomValues(new Uint32Array(4)).join("");
    stamp = Math.max(stamp + 1, Date.now());
    const name = `${UNSENT}${stamp}.${key}`;
    made.push(name);
    const point = form.elements.namedItem("readings.0.name");
    const what = [one("h1"), ...(point ? point.selectedOptions : [])].map((part) => part.textContent);
    const entry = { person, action: action(form), key, what: what.concat(file?.name ?? []).join(" · "), fields: fieldsOf(form, by) };
    if (file) {
      entry.file = file.name;
      // Until its bytes are here there is nothing to send.
      set(name, { ...entry, ...LOST });
      await photos((store) => store.put(file, name));
    }
    set(name, entry);
  };
  const drop = ({ name, file }) => {
    localStorage.removeItem(name);
    if (file) photos((store) => (kept().some((entry) => entry.file) ? store.delete(name) : store.clear())).catch(() => {});
  };
  const retry = ({ name, refused, signIn, ...entry }) => set(name, entry);

  const strip = () => {
    const bar = one("[data-strip]");
    if (!bar) return;
    const refused = mine().find((entry) => entry.refused);
    const others = kept().length > mine().length;
    const state = full || refused ? "refused" : open().length ? "waiting" : "saved";
    const quiet = state === "saved" && !others;
    const count = one("[data-waits]");
    if (count) count.textContent = waiting().length ? `${count.dataset.waits} ${waiting().length}` : "";
    bar.className = `strip ${state}`;
    if (bar.dataset.quiet) bar.hidden = quiet;
    else one("[data-away]").hidden = !away();
    if (quiet) return;
    const why = one("[data-why]", bar);
    const sending = state === "waiting" && lanes.some((lane) => lane.busy);
    one("[data-word]", bar).textContent = bar.dataset[sending ? "sending" : state];
    const said = { waiting: `${bar.dataset.kept} ${open().length}`, saved: bar.dataset.others };
    why.textContent = full ? bar.dataset.full : said[state] || (refused.signIn ? bar.dataset.signIn : `${told(refused)}: ${bar.dataset[refused.refused] || refused.refused}`);
    if (state === "waiting")
      for (const entry of open()) {
        why.append("\n", told(entry));
        // What is under way may be stored already.
        if (!sending) offer(why, entry);
      }
    if (refused?.signIn === false && !full) offer(why, refused);
  };
  const offer = (why, entry) => {
    const words = [...(entry.file ? ["again"].slice(+!entry.refused) : ["correct"]), "drop"];
    for (const word of words) why.append(" ", choice(one("[data-strip]").dataset[word], entry, word));
  };
  const choice = (text, entry, word) => {
    const onclick = () => {
      if (word === "again") {
        retry(entry);
        return later();
      }
      drop(entry);
      if (word === "correct") note(entry.action, entry.fields);
      else if (!entry.refused) return strip();
      go(word === "correct" ? entry.action : here());
    };
    return Object.assign(document.createElement("button"), { type: "button", className: "also", textContent: text, onclick });
  };

  const ask = async (path, options, patience = PATIENCE_MS) => {
    const answer = await fetch(path, { ...options, signal: AbortSignal.timeout(patience) });
    return { answer, text: await answer.text() };
  };

  const send = async ({ name, ...entry }) => {
    const { file } = entry;
    const fields = [["form_token", one("input[name=form_token]").value], ["request_key", entry.key], ...entry.fields];
    let body = new URLSearchParams(fields);
    if (file) {
      const photo = await photos((store) => store.get(name));
      // A browser short of room may have let go of it.
      if (!photo) {
        set(name, { ...entry, ...LOST });
        return { name, entry };
      }
      body = new FormData();
      for (const field of fields) body.append(...field);
      body.append("photo", photo, file);
    }
    const { answer, text } = await ask(entry.action, { method: "POST", body, headers: { Accept: "application/json" } }, file ? PATIENCE_FOR_PHOTOS_MS : PATIENCE_MS);
    const told = answer.headers.get("content-type")?.includes("json") ? JSON.parse(text) : {};
    // What answers without "saved" is not this server, or not well.
    if (answer.status >= 500 || [408, 429].includes(answer.status) || (answer.ok && !told.saved)) throw new Error();
    const signIn = [401, 403].includes(answer.status);
    if (told.saved) drop({ name, file });
    else {
      const refused = told.errors?.map((error) => error.message).join(" ") || one("main p", parsed(text))?.textContent || answer.status;
      set(name, { ...entry, refused, signIn });
    }
    return { ...told, name, entry, signIn };
  };

  // In the order in which they were taken; of one form, readings and photos alike.
  const turn = (lane) => {
    const all = open();
    return all.find((entry, n) => !!entry.file === lane.photos && !all.slice(0, n).some((other) => other.action === entry.action && !other.file === lane.photos));
  };
  const drain = async (lane) => {
    if (lane.busy) return null;
    clearTimeout(lane.timer);
    let last = null;
    lane.busy = true;
    try {
      for (let entry; (entry = turn(lane)); ) {
        strip();
        last = await send(entry);
        lane.wait = 1000;
        if (last.saved) say("stored", last);
        if (last.plausible === false) wrong = last.next;
      }
    } catch {
      lane.timer = setTimeout(later, lane.wait);
      lane.wait = Math.min(2 * lane.wait, LONGEST_WAIT_MS);
    }
    lane.busy = false;
    strip();
    if (last) setTimeout(later);
    return last;
  };

  // What waited is stored: show the page anew, unless somebody types.
  const later = () =>
    lanes.forEach(async (lane) => {
      const last = await drain(lane);
      if (last?.saved && !open().length && !typing() && one("[data-strip]:not([data-quiet])"))
        await goTo(last.entry.action === location.pathname ? last.next : here());
    });

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
  // What was implausible is seen first.
  const goTo = (path) => {
    const first = wrong || path;
    wrong = "";
    return go(first);
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
    const left = place?.dataset.missing - waiting().length;
    const lines = [told(mine().at(-1))];
    const on = onOf(document);
    delete form.dataset.sent;
    // To come back to: what waits may be corrected.
    ahead.set(location.pathname, document.documentElement.outerHTML);
    if (left > 0) {
      if (target?.selectedIndex + 1 < target?.options.length) {
        target.selectedIndex += 1;
        const then = one("[data-then]");
        one(".where")?.replaceWith(then?.content ?? "");
        then?.remove();
      }
      say("page");
    } else if (ahead.has(on)) put(ahead.get(on), on);
    else lines.push(one("[data-away]").dataset.stay);
    say("waiting", lines);
  };

  // The page itself then says what is wrong.
  const plainly = (form, by) => {
    delete form.dataset.keep;
    delete form.dataset.sent;
    form.requestSubmit(by);
  };
  when("submit", async (event) => {
    const form = event.target.closest("form[data-keep]");
    if (!form) return;
    if (coordinates(form).some((field) => !field.value.trim())) {
      if (away()) event.preventDefault(), say("away");
      return;
    }
    event.preventDefault();
    if (form.dataset.sent) return;
    form.dataset.sent = "1";
    const by = event.submitter;
    const files = [...(form.elements.photo?.files || [])];
    const made = [];
    full = false;
    try {
      for (const file of files.length ? files : [null]) await keep(form, by, file, made);
      localStorage.removeItem(TYPED + action(form));
    } catch {
      for (const name of made) drop({ name, file: true });
      // Nothing can be kept: the ordinary way, where there is one.
      const without = () => {
        full = true;
        delete form.dataset.sent;
        strip();
      };
      return void ask("/static/app.js", {}).then(() => plainly(form, by), without);
    }
    // At once: what is typed meanwhile stays.
    for (const field of coordinates(form)) field.value = "";
    const last = await drain(lanes[+!!files.length]);
    const sent = last && last.name === made.at(-1) && !last.signIn;
    if (sent && !last.saved && made.length === 1) {
      drop({ ...last.entry, name: last.name });
      if (!form.elements.photo) note(action(form), last.entry.fields);
      refill(form);
      plainly(form, by);
    } else if (sent && !last.saved) await go(here());
    else {
      if (sent) {
        ahead.delete(location.pathname);
        if (!files.length) say("taken", last);
        await goTo(last.next);
      } else {
        if (files.length) form.reset();
        goOnWithout(form);
      }
    }
    delete form.dataset.sent;
  });
  when("input", (event) => {
    const form = event.target.closest("form[data-keep]");
    try {
      if (form && !form.elements.photo) note(action(form), fieldsOf(form));
    } catch {
      // Without storage a reload loses it.
    }
  });
  when("jigbook:go", (event) => go(event.detail));
  // Jumps (#…) come here too.
  addEventListener("popstate", () => here() === shown || go(here()));
  // Without network other ways would lead to the browser's page of errors.
  when("click", (event) => {
    const part = event.target.closest("a[href], form:not([data-keep]) button");
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
  for (const entry of mine()) if (entry.signIn) retry(entry);
  arrive();
  later();
})();
