// A large word and a short sound for each reading; points that others or an instrument sent, and
// what is known so far, appear by themselves.
(() => {
  "use strict";

  const EVERY_MS = 1500;
  const SHOWN_MS = 6000;
  const one = (selector) => document.querySelector(selector);
  const when = (name, act) => document.addEventListener(name, act);
  let audio = null;
  let shown = null;

  // Browsers let a page sound only after a touch.
  for (const name of ["pointerdown", "keydown"])
    when(name, () => {
      audio ||= window.AudioContext && new AudioContext();
      audio?.resume();
    });
  const tone = (hertz, start) => {
    const source = audio.createOscillator();
    const gain = audio.createGain();
    const from = audio.currentTime + start;
    source.frequency.value = hertz;
    gain.gain.setValueAtTime(0.25, from);
    gain.gain.exponentialRampToValueAtTime(0.001, from + 0.2);
    source.connect(gain).connect(audio.destination);
    source.start(from);
    source.stop(from + 0.2);
  };
  const sound = (plausible) => {
    if (audio) for (const start of plausible ? [0] : [0, 0.25, 0.5]) tone(plausible ? 1320 : 220, start);
  };

  const word = (kind, lines, text) => {
    const big = one("[data-big]");
    if (!big) return;
    shown = { kind, lines, text, until: Date.now() + SHOWN_MS };
    big.className = `big ${kind}-word`;
    big.textContent = text || big.dataset[kind];
    for (const textContent of lines) big.append(Object.assign(document.createElement("small"), { textContent }));
    big.hidden = false;
  };

  const news = async () => {
    const place = one("[data-news]");
    const strip = one("[data-strip]");
    const big = one("[data-big]");
    const sending = () => one("form[data-sent]");
    if (!place || !strip || !big || document.hidden || sending()) return;
    const answer = await fetch(`${place.dataset.news}&after=${strip.dataset.version}&since=${big.dataset.last}`);
    if (answer.status !== 200 || answer.redirected || place !== one("[data-news]") || sending()) return;
    const told = await answer.json();
    strip.dataset.version = told.version;
    const last = told.points.pop();
    if (last) {
      big.dataset.last = last.id;
      word(last.plausible ? "taken" : "implausible", [last.name, last.reading, ...told.told], last.word);
      sound(last.plausible);
    }
    const fields = [...document.querySelectorAll("[data-keep] .xyz input")];
    const detail = (told.at || place.dataset.here) + (last ? `?taken=${last.id}` : "");
    for (const [name, text] of Object.entries(told.counts)) {
      const count = one(`[data-${name}]`);
      if (count) count.textContent = text;
    }
    if (fields.every((field) => field.value === field.defaultValue)) document.dispatchEvent(new CustomEvent("jigbook:go", { detail }));
  };
  const watch = async () => {
    // Without network there is no news.
    await news().catch(() => {});
    setTimeout(watch, EVERY_MS);
  };

  const plan = async () => {
    const line = one("[data-plan] [data-plan-line]");
    if (!line || line.textContent.trim()) return;
    // Else the link beside it leads there.
    const answer = await fetch(line.parentElement.dataset.plan).catch(() => 0);
    if (!answer.ok || answer.redirected) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    line.textContent = page.querySelector("[data-plan-line]").textContent.trim();
  };

  when("jigbook:taken", (event) => sound(event.detail.plausible));
  when("jigbook:waiting", (event) => word("waiting", event.detail));
  when("jigbook:away", () => word("offline", [one("[data-away]").textContent]));
  when("jigbook:stored", ({ detail }) => {
    if (shown?.kind === "waiting") {
      shown = null;
      one("[data-big]")?.setAttribute("hidden", "");
    }
    if (detail.told?.length) word(detail.plausible ? "taken" : "implausible", detail.told);
  });
  when("jigbook:page", () => {
    const big = one("[data-big]");
    if (big?.hidden && Date.now() < shown?.until) word(shown.kind, shown.lines, shown.text);
    plan();
  });
  plan();
  setTimeout(watch, EVERY_MS);
})();
