// Decodes camera frames away from the page, so that the picture never stutters. In: { url } of the decoder once, then
// { frame, look }: RGBA pixels, as they are ("plain") or with their greys "equalised" or "stretched". Out: { ready }, { failed } or { texts }.

let decode = null;

self.addEventListener("message", async (event) => {
  const { url, frame, look } = event.data;
  if (url) await load(url);
  else self.postMessage({ texts: await read(look === "plain" ? frame : spread(frame, LOOKS[look])) });
});

async function load(url) {
  try {
    decode = (await import(url)).decodeQRBatch;
    self.postMessage({ ready: true });
  } catch (reason) {
    self.postMessage({ failed: String(reason) });
  }
}

// Every symbol in the frame, not the first alone: several tags in view are for a person to choose from.
async function read(frame) {
  try {
    const [results] = await decode([frame], { timeLimit: 60 });
    return results.filter((result) => typeof result === "string");
  } catch {
    return []; // nothing in this frame
  }
}

const LOOKS = { equalised, stretched };

// A copy in grey, each grey put where `curve` of the histogram says.
function spread({ data, width, height }, curve) {
  const counts = new Uint32Array(256);
  const luma = new Uint8Array(width * height);
  for (let i = 0; i < luma.length; i++) {
    luma[i] = (data[4 * i] * 77 + data[4 * i + 1] * 150 + data[4 * i + 2] * 29) >> 8;
    counts[luma[i]]++;
  }
  const to = curve(counts, luma.length);
  const out = new Uint8ClampedArray(data.length).fill(255);
  for (let i = 0; i < luma.length; i++) out[4 * i] = out[4 * i + 1] = out[4 * i + 2] = to[luma[i]];
  return { data: out, width, height };
}

// Each grey as often as any other: brings back a faded tag that fills the frame (tests/bench/bench_tags.py).
function equalised(counts, all) {
  let below = 0;
  return Uint8Array.from(counts, (count) => ((below += count) * 255) / all);
}

// From the darkest to the lightest hundredth: where plain wood fills the frame, equalising would blow up its grain.
function stretched(counts, all) {
  const at = (share) => {
    let [grey, below] = [0, counts[0]];
    while (below < share * all && grey < 255) below += counts[++grey];
    return grey;
  };
  const [low, high] = [at(0.01), at(0.99)];
  return Uint8ClampedArray.from(counts, (_, grey) => ((grey - low) * 255) / Math.max(1, high - low));
}
