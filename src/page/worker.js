
// The worker: unpacks the program once, or gets it unpacked, and runs one command for each message.
let program;

// 7 bits a character, the highest first; see `in_septets` of pack.py.
function fromSeptets(text) {
  const data = new Uint8Array(Math.floor(text.length * 7 / 8));
  let bits = 0, count = 0, at = 0;
  for (let i = 0; i < text.length; i++) {
    bits = (bits << 7) | (text.charCodeAt(i) & 127);
    count += 7;
    if (count >= 8) {
      count -= 8;
      data[at++] = bits >> count;
      bits &= (1 << count) - 1;
    }
  }
  return data.subarray(0, at);
}

onmessage = async ({ data }) => {
  try {
    if (data.program) {
      program = runner(data.program);
    } else if (data.packed) {
      const unpacked = new Blob([fromSeptets(data.packed)]).stream().pipeThrough(new DecompressionStream('gzip'));
      const module = await WebAssembly.compile(await new Response(unpacked).arrayBuffer());
      program = runner(module);
      postMessage({ program: module });
    } else {
      const started = performance.now();
      const result = program(data.args, data.files);
      postMessage({ ...result, took: performance.now() - started });
    }
  } catch (error) {
    postMessage({ failed: String(error?.message ?? error) });
  }
};
