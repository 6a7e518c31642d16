// The camera on a page: components/scanner.html. A hit opens the tag's page, or fills the field `code` of the form that
// data-form names and sends it. All words stand in the template. Without this file the other ways of the page stay.

import { makeReader } from "./tag_reader.js";
import { shown } from "./tagcode.js";

const SEVERAL_MS = 250; // a second tag in view shows up within this time after the first
const RESUMED = "drystack-scanner"; // what was read on this page so far, and when: the next page of its form scans on
const RESUMES_MS = 20000;

class Scanner {
  constructor(root) {
    this.root = root;
    this.passed = [];
    this.video = root.querySelector("video");
    this.begin = root.querySelector("[data-start]");
    this.torch = root.querySelector("[data-torch]");
    this.begin.addEventListener("click", () => this.start());
    root.querySelector("[data-stop]").addEventListener("click", () => this.end());
    this.torch.addEventListener("click", () => this.light());
    window.addEventListener("pagehide", () => this.stop());
    document.addEventListener("visibilitychange", () => document.hidden && this.stop());
    const hindrance = whatHinders(root.dataset);
    this.begin.classList.remove("unready");
    this.begin.hidden = Boolean(hindrance); // a button would lead nowhere
    if (hindrance) this.say(hindrance);
    else this.resume();
  }

  // A load is stacks one after the other: the camera comes back by itself after each, and passes over what was read.
  resume() {
    const { path, codes, at } = JSON.parse(sessionStorage.getItem(RESUMED) ?? "{}");
    sessionStorage.removeItem(RESUMED);
    if (!this.root.dataset.form || path !== location.pathname || Date.now() - at > RESUMES_MS) return;
    this.passed = codes;
    this.start();
  }

  async start() {
    this.begin.disabled = true;
    this.say("starting");
    this.choose([]);
    this.sound ??= new AudioContext(); // browsers allow sound only from a tap on; without one it stays silent
    this.turn = Symbol("turn");
    const turn = this.turn;
    try {
      await this.open(turn);
    } catch (reason) {
      if (turn === this.turn) this.refuse(whyNot(reason));
    }
    this.begin.disabled = false;
  }

  async open(turn) {
    const [stream, reader] = await Promise.all([camera(), makeReader(this.root.dataset)]);
    if (turn !== this.turn || !reader) {
      for (const track of stream.getTracks()) track.stop();
      reader?.stop();
      if (turn === this.turn) this.refuse("decoder");
      return;
    }
    [this.stream, this.reader] = [stream, reader];
    this.video.srcObject = stream;
    this.show(true);
    await this.video.play();
    this.offerTorch();
    this.say("aim");
    this.watch(turn);
  }

  async watch(turn) {
    while (turn === this.turn) {
      const codes = await this.seen();
      if (turn !== this.turn) return;
      if (codes.length) return this.found(turn, codes);
      await pause(30);
    }
  }

  async seen() {
    const codes = this.video.videoWidth ? await this.reader.read(this.video).catch(() => []) : [];
    return codes.filter((code) => !this.passed.includes(code));
  }

  // Looks on for a moment: with two tags in view the first frame may have shown one of them only.
  async found(turn, first) {
    const codes = new Set(first);
    const until = performance.now() + SEVERAL_MS;
    this.hit();
    while (performance.now() < until && turn === this.turn) {
      for (const code of await this.seen()) codes.add(code);
    }
    if (turn !== this.turn) return;
    this.stop();
    if (codes.size === 1) this.take([...codes][0]);
    else this.choose([...codes]);
  }

  hit() {
    this.root.dataset.hit = "yes"; // the frame's colour
    navigator.vibrate?.(80);
    const tone = this.sound.createOscillator();
    tone.frequency.value = 1320;
    tone.connect(this.sound.destination);
    tone.start();
    tone.stop(this.sound.currentTime + 0.09);
  }

  take(code) {
    const form = this.root.dataset.form && document.getElementById(this.root.dataset.form);
    if (!form) {
      window.location.assign(this.root.dataset.address.replace("CODE", code));
      return;
    }
    const read = { path: location.pathname, codes: [...this.passed, code], at: Date.now() };
    sessionStorage.setItem(RESUMED, JSON.stringify(read));
    form.querySelector('input[name="code"]').value = code; // buttons of that name may stand there too
    form.requestSubmit();
  }

  choose(codes) {
    const list = this.root.querySelector("[data-choice]");
    list.hidden = !codes.length;
    list.querySelector("ul").replaceChildren(...codes.map((code) => this.choice(code)));
    if (codes.length) {
      this.say("several");
      list.querySelector("button").focus();
    }
  }

  choice(code) {
    const item = document.createElement("li");
    const button = document.createElement("button");
    button.type = "button";
    button.className = "act second code";
    button.textContent = shown(code);
    button.addEventListener("click", () => this.take(code));
    item.append(button);
    return item;
  }

  offerTorch() {
    const [track] = this.stream.getVideoTracks();
    this.torch.hidden = !track.getCapabilities?.().torch;
    this.torch.setAttribute("aria-pressed", "false");
  }

  async light() {
    const on = this.torch.getAttribute("aria-pressed") !== "true";
    try {
      await this.stream.getVideoTracks()[0].applyConstraints({ advanced: [{ torch: on }] });
      this.torch.setAttribute("aria-pressed", String(on));
    } catch {
      if (this.stream) this.say("dark"); // the camera goes on without its light
    }
  }

  stop() {
    this.turn = null;
    for (const track of this.stream?.getTracks() ?? []) track.stop();
    this.reader?.stop();
    this.stream = this.reader = this.video.srcObject = null;
    this.show(false);
    this.say("");
  }

  end() {
    this.passed = [];
    this.stop();
  }

  refuse(why) {
    this.stop();
    this.say(why);
  }

  show(on) {
    this.root.querySelector("[data-view]").hidden = !on;
    this.begin.hidden = on;
    delete this.root.dataset.hit;
  }

  say(word) {
    const words = word && this.root.querySelector(`template[data-words="${word}"]`).content.textContent;
    this.root.querySelector("[role=status]").textContent = words;
  }
}

function camera() {
  const wanted = { facingMode: { ideal: "environment" }, width: { ideal: 1280 }, height: { ideal: 720 } };
  return navigator.mediaDevices.getUserMedia({ video: wanted, audio: false });
}

function whatHinders({ decoder }) {
  if (!navigator.mediaDevices?.getUserMedia) return window.isSecureContext ? "none" : "plain";
  return decoder || "BarcodeDetector" in window ? "" : "decoder";
}

function whyNot(reason) {
  if (reason.name === "NotAllowedError" || reason.name === "SecurityError") return "refused";
  return reason.name === "NotFoundError" || reason.name === "OverconstrainedError" ? "none" : "busy";
}

function pause(milliseconds) {
  return new Promise((resolve) => setTimeout(resolve, milliseconds));
}

export function start(root) {
  for (const scanner of root.querySelectorAll("[data-scanner]")) new Scanner(scanner);
}

start(document);
