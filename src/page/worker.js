
// The worker: unpacks the program once, or gets it unpacked, and runs it once for each message.
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
      program = data.program;
    } else if (data.packed) {
      const unpacked = new Blob([fromSeptets(data.packed)]).stream().pipeThrough(new DecompressionStream('gzip'));
      program = await WebAssembly.compile(await new Response(unpacked).arrayBuffer());
      postMessage({ program });
    } else {
      const started = performance.now();
      const result = runProgram(program, data.args, data.files);
      postMessage({ ...result, took: performance.now() - started });
    }
  } catch (error) {
    postMessage({ failed: String(error?.message ?? error) });
  }
};
