// Reads tags off a video: the browser's own detector where it really knows QR codes, else the decoder in a worker.

import { check } from "./tagcode.js";

const OURS = /\/t\//i;
const LONGEST_SIDE = 1280; // what the decoder's times and read rates were measured on

export async function makeReader(scripts) {
  return (await nativeReader()) ?? workerReader(scripts);
}

// Our own tags among what was read, each once.
export function ownCodes(texts) {
  return [...new Set(texts.filter((text) => OURS.test(text)).map(check).filter(Boolean))];
}

// That the class is there proves nothing: some browsers have it and list no format.
async function nativeReader() {
  try {
    const formats = await window.BarcodeDetector.getSupportedFormats();
    if (!formats.includes("qr_code")) return null;
    const detector = new window.BarcodeDetector({ formats: ["qr_code"] });
    const read = async (video) => ownCodes((await detector.detect(video)).map((found) => found.rawValue));
    return { read, stop() {} };
  } catch {
    return null;
  }
}

// Null where the decoder can't be loaded.
async function workerReader({ worker: address, decoder }) {
  if (!decoder) return null;
  const worker = new Worker(address, { type: "module" });
  const first = await ask(worker, { url: new URL(decoder, document.baseURI).href });
  if (!first.ready) {
    worker.terminate();
    return null;
  }
  const canvas = document.createElement("canvas");
  let missed = 0;
  const read = async (video) => {
    const codes = await look(worker, frameOf(video, canvas), "plain");
    return codes.length ? codes : look(worker, frameOf(video, canvas), missed++ % 2 ? "equalised" : "stretched");
  };
  return { read, stop: () => worker.terminate() };
}

async function look(worker, frame, how) {
  const { texts } = await ask(worker, { frame, look: how }, [frame.data.buffer]);
  return ownCodes(texts ?? []);
}

function ask(worker, message, transfer = []) {
  return new Promise((resolve) => {
    worker.onmessage = (event) => resolve(event.data);
    worker.onerror = () => resolve({ failed: true });
    worker.postMessage(message, transfer);
  });
}

function frameOf(video, canvas) {
  const scale = Math.min(1, LONGEST_SIDE / Math.max(video.videoWidth, video.videoHeight));
  canvas.width = Math.round(video.videoWidth * scale);
  canvas.height = Math.round(video.videoHeight * scale);
  const context = canvas.getContext("2d", { willReadFrequently: true });
  context.drawImage(video, 0, 0, canvas.width, canvas.height);
  const { data, width, height } = context.getImageData(0, 0, canvas.width, canvas.height);
  return { data, width, height };
}
