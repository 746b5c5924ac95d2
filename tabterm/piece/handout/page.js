"use strict";
(() => {
  const find = (id) => document.getElementById(id);
  const data = JSON.parse(find("data").textContent);
  const AHEAD_S = 4, FADE_S = 0.02, SOON_S = 0.08;
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  const stems = { solo: null, backing: null };
  const decoded = new Map();
  let context = null, master = null, playing = null, asked = 0, last = 0;

  const tempo = () => Number(document.querySelector("input[name=tempo]:checked").value);
  const pressed = (id) => find(id).getAttribute("aria-pressed") === "true";
  const say = (words) => { find("status").textContent = words; };
  const seconds = (piece) => data.pieces[piece].length * 100 / playing.percent;

  // Sound: the pieces of a turn follow each other, and each dies away over the next.

  function begin() {
    if (context) return;
    context = new AudioContext();
    master = context.createGain();
    master.connect(context.destination);
    for (const stem in stems) {
      stems[stem] = context.createGain();
      stems[stem].gain.value = pressed(stem) ? 1 : 0;
      stems[stem].connect(master);
    }
  }

  async function sound(stem, percent, piece) {
    const name = `${stem}-${percent}-${piece}`;
    if (!decoded.has(name)) {
      const held = find(name);
      if (!held) return null;
      const bytes = Uint8Array.from(atob(held.textContent), (sign) => sign.charCodeAt(0));
      decoded.set(name, context.decodeAudioData(bytes.buffer));
    }
    return decoded.get(name);
  }

  function add(piece, at, from, buffers) {
    const length = seconds(piece), sources = [];
    for (const stem in stems) {
      const buffer = buffers[piece][stem];
      if (!buffer) continue;
      const late = buffer.duration > length + data.tail + 0.02 ? data.delay : 0;
      const source = context.createBufferSource();
      source.buffer = buffer;
      source.connect(stems[stem]);
      source.start(at, late + from, length + data.tail - from);
      sources.push(source);
    }
    playing.parts.push({ piece, number: playing.number - 1, start: at - from, end: at + length - from, sources });
  }

  function fill() {
    if (!playing) return;
    const now = context.currentTime;
    playing.parts = playing.parts.filter((part) => part.end + data.tail > now);
    while (playing.next < now + AHEAD_S && (playing.number < playing.pieces.length || pressed("repeat"))) {
      if (playing.number >= playing.pieces.length) playing.number = 0;
      const piece = playing.pieces[playing.number++];
      add(piece, playing.next, playing.from, playing.buffers);
      const frames = Math.round((seconds(piece) - playing.from) * context.sampleRate);
      playing.next += frames / context.sampleRate;
      playing.from = 0;
    }
    if (playing.next + data.tail < now) stop("Finished.");
  }

  function count(counts, start) {
    for (const [time, loud] of counts) {
      const at = start + time * 100 / playing.percent, tone = context.createOscillator(), gain = context.createGain();
      tone.frequency.value = loud ? 1760 : 1320;
      gain.gain.setValueAtTime(loud ? 0.3 : 0.2, at);
      gain.gain.exponentialRampToValueAtTime(0.001, at + 0.05);
      tone.connect(gain).connect(master);
      tone.start(at);
      tone.stop(at + 0.06);
      playing.clicks.push(tone);
    }
  }

  async function play(phrase, number = 0, from = 0, counting = pressed("count")) {
    const call = ++asked, percent = tempo();
    const pieces = phrase === null ? data.order : [phrase];
    begin();
    await context.resume();
    silence();
    say("Loading the sound.");
    const buffers = {};
    for (const piece of new Set(pieces)) {
      const [solo, backing] = await Promise.all(["solo", "backing"].map((stem) => sound(stem, percent, piece)));
      buffers[piece] = { solo, backing };
    }
    if (call !== asked) return;
    const counts = counting ? data.pieces[pieces[number]].counts : [];
    const lead = counts.length ? -counts[0][0] * 100 / percent : 0;
    const frame = Math.ceil((context.currentTime + SOON_S + lead) * context.sampleRate);
    const next = frame / context.sampleRate;
    const timer = setInterval(fill, 200);
    playing = { phrase, percent, pieces, number, next, buffers, parts: [], clicks: [], timer };
    playing.from = from * 100 / percent;
    last = phrase;
    master.gain.setValueAtTime(1, context.currentTime + SOON_S / 2);
    count(counts, next);
    fill();
    show();
    say(`${named(phrase)}, ${percent}%${pressed("repeat") ? ", repeating" : ""}.`);
    requestAnimationFrame(follow);
  }

  function silence() {
    if (!playing) return;
    const { parts, clicks, timer } = playing, now = context.currentTime;
    clearInterval(timer);
    playing = null;
    master.gain.setValueAtTime(1, now);
    master.gain.linearRampToValueAtTime(0, now + FADE_S);
    for (const source of [...parts.flatMap((part) => part.sources), ...clicks]) {
      source.stop(Math.max(now + FADE_S, 0));
    }
  }

  function stop(words = "Stopped.") {
    asked++;
    silence();
    show();
    hide();
    say(words);
  }

  // Where the sound is: the piece that is heard now, and the seconds of it at the written tempo.

  function place() {
    if (!playing) return null;
    const now = context.currentTime - (context.outputLatency || 0);
    const part = playing.parts.find((each) => each.start <= now && now < each.end);
    return part && { ...part, at: (now - part.start) * playing.percent / 100 };
  }

  function spot(marks, systems, at) {
    let low = 0;
    while (low + 1 < marks.length && marks[low + 1][0] <= at) low++;
    const [time, system, x] = marks[low], after = marks[low + 1];
    const goal = after && after[1] === system ? after[2] : systems[system][2];
    const until = after ? after[0] : time + 1;
    const part = still.matches ? 0 : Math.min(Math.max((at - time) / (until - time), 0), 1);
    return { system, x: x + part * (goal - x) };
  }

  let lit = null;

  function follow() {
    if (!playing) return;
    requestAnimationFrame(follow);
    const here = place();
    if (!here) return;
    const piece = data.pieces[here.piece], views = find(`phrase-${piece.phrase + 1}`).querySelectorAll("figure > div");
    const view = views[0].offsetParent ? 0 : 1, systems = data.systems[piece.phrase][view];
    const { system, x } = spot(piece.marks[view], systems, here.at);
    const cursor = views[view].querySelector(".cursor"), [top, height] = systems[system];
    if (lit !== cursor) hide();
    const moved = lit !== cursor || cursor.dataset.system !== String(system);
    Object.assign(cursor.style, { left: `${x}%`, top: `${top}%`, height: `${height}%` });
    cursor.dataset.system = system;
    cursor.hidden = false;
    lit = cursor;
    if (moved) into(cursor);
  }

  function into(cursor) {
    const box = cursor.getBoundingClientRect(), room = innerHeight - document.querySelector(".player").offsetHeight;
    if (box.top < 0 || box.bottom > room) {
      scrollBy({ top: box.top - room / 4, behavior: still.matches ? "auto" : "smooth" });
    }
  }

  function hide() {
    if (lit) lit.hidden = true;
    lit = null;
  }

  // Buttons

  const named = (phrase) => phrase === null ? "All phrases" : `Phrase ${phrase + 1}`;
  const buttons = [...document.querySelectorAll("button[data-phrase]")];

  function show() {
    for (const button of [...buttons, find("whole")]) {
      const phrase = button.dataset.phrase ? Number(button.dataset.phrase) - 1 : null;
      const on = playing !== null && playing.phrase === phrase;
      button.classList.toggle("on", on);
      button.firstChild.textContent = on ? "Stop " : "Play ";
    }
  }

  const turn = (phrase) => (playing && playing.phrase === phrase ? stop() : play(phrase));
  for (const button of buttons) button.addEventListener("click", () => turn(Number(button.dataset.phrase) - 1));
  find("whole").addEventListener("click", () => turn(null));

  for (const id of ["repeat", "count", "solo", "backing"]) {
    find(id).addEventListener("click", () => {
      find(id).setAttribute("aria-pressed", String(!pressed(id)));
      if (stems[id]) stems[id].gain.setTargetAtTime(pressed(id) ? 1 : 0, context.currentTime, 0.01);
      if (id === "repeat" && playing) pressed(id) ? fill() : end();
    });
  }

  // No further turn: what has not begun is taken back.
  function end() {
    const now = context.currentTime;
    const rest = playing.parts.filter((part) => part.start <= now);
    const gone = playing.parts.filter((part) => part.start > now);
    if (playing.phrase !== null) {
      gone.flatMap((part) => part.sources).forEach((source) => source.stop());
      playing.parts = rest;
      playing.next = rest.length ? rest[rest.length - 1].end : playing.next;
    }
    playing.number = playing.phrase === null ? playing.number : playing.pieces.length;
  }

  for (const choice of document.querySelectorAll("input[name=tempo]")) {
    choice.addEventListener("change", () => {
      if (!playing) return say(`${tempo()}%.`);
      const here = place();
      play(playing.phrase, here ? here.number : 0, here ? here.at : 0, !here);
    });
  }

  addEventListener("keydown", (event) => {
    if (event.key === "Escape" && playing) stop();
    if (event.key !== " " || event.target !== document.body) return;
    event.preventDefault();
    playing ? stop() : play(last);
  });
})();
