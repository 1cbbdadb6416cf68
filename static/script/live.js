// A large word, a colour and a short sound for each reading; points that others or an instrument
// sent appear by themselves, and so does what is known so far.
(() => {
  "use strict";

  const EVERY_MS = 1500;
  const SHOWN_MS = 6000;
  const one = (selector) => document.querySelector(selector);
  let audio = null;
  let shown = null;

  // Browsers let a page sound only after somebody has touched it.
  const wake = () => {
    if (!audio && window.AudioContext) audio = new AudioContext();
    if (audio) audio.resume();
  };
  for (const name of ["pointerdown", "keydown"]) document.addEventListener(name, wake);

  const tone = (hertz, start, length) => {
    const source = audio.createOscillator();
    const gain = audio.createGain();
    source.frequency.value = hertz;
    gain.gain.setValueAtTime(0.25, audio.currentTime + start);
    gain.gain.exponentialRampToValueAtTime(0.001, audio.currentTime + start + length);
    source.connect(gain).connect(audio.destination);
    source.start(audio.currentTime + start);
    source.stop(audio.currentTime + start + length);
  };
  const sound = (plausible) => {
    if (!audio) return;
    if (plausible) tone(1320, 0, 0.15);
    else for (const start of [0, 0.25, 0.5]) tone(220, start, 0.2);
  };

  const word = (kind, lines) => {
    const big = one("[data-big]");
    if (!big) return;
    shown = { kind, lines, until: Date.now() + SHOWN_MS };
    big.className = `big ${kind}-word`;
    big.textContent = big.dataset[kind];
    for (const line of lines.filter(Boolean)) {
      const small = document.createElement("small");
      small.textContent = line;
      big.append(small);
    }
    big.hidden = false;
  };

  const typing = () =>
    [...document.querySelectorAll("form[data-keep] input[name^='readings.']:not([type=hidden])")].some((field) => field.value);

  const news = async () => {
    const place = one("[data-news]");
    const strip = one("[data-strip]");
    const big = one("[data-big]");
    const sending = () => one("form[data-sent]");
    if (!place || !strip || !big || document.hidden || sending()) return;
    const path = `${place.dataset.news}?after=${strip.dataset.version}&since=${big.dataset.last}`;
    const answer = await fetch(path, { credentials: "same-origin" });
    if (answer.status !== 200 || answer.redirected || place !== one("[data-news]") || sending()) return;
    const told = await answer.json();
    strip.dataset.version = told.version;
    const last = told.points[told.points.length - 1];
    if (last) {
      big.dataset.last = last.id;
      word(last.plausible ? "taken" : "implausible", [last.name, last.reading, ...(last.plausible ? [] : told.told)]);
      sound(last.plausible);
    }
    const path_now = told.at || place.dataset.here;
    if (!typing()) document.dispatchEvent(new CustomEvent("jigbook:go", { detail: { path: path_now } }));
  };
  const watch = async () => {
    try {
      await news();
    } catch {
      // Without network there is no news; the strip says what waits.
    }
    setTimeout(watch, EVERY_MS);
  };

  const plan = async () => {
    const place = one("[data-plan]");
    const line = one("[data-plan] [data-plan-line]");
    if (!place || !line || line.textContent.trim()) return;
    try {
      const answer = await fetch(place.dataset.plan, { credentials: "same-origin" });
      if (!answer.ok || answer.redirected) return;
      const found = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("[data-plan-line]");
      if (found && line.isConnected) line.textContent = found.textContent.trim();
    } catch {
      // The link beside the line leads there as well.
    }
  };

  document.addEventListener("jigbook:taken", (event) => sound(event.detail.plausible));
  document.addEventListener("jigbook:waiting", () => word("waiting", []));
  document.addEventListener("jigbook:stored", (event) => {
    if (event.detail.plausible) return;
    word("implausible", event.detail.told);
  });
  document.addEventListener("jigbook:page", () => {
    const big = one("[data-big]");
    if (big && big.hidden && shown && Date.now() < shown.until) word(shown.kind, shown.lines);
    plan();
  });
  plan();
  setTimeout(watch, EVERY_MS);
})();
