
// The worker: unpacks the program once, or gets it unpacked, and runs one command for each message.
let program;

// 7 bits a character, 16 where it is one of two bytes, the highest first; see `in_characters` of pack.py.
function fromCharacters(text, length) {
  const FIRST_LONG = 0xa0, BARRED = [0, 13, 60], data = new Uint8Array(length + 1);
  let bits = 0, count = 0, at = 0;
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i), long = code - FIRST_LONG;
    bits = long < 0 ? bits << 7 | code : bits << 16 | BARRED[long >> 9] << 9 | long & 511;
    count += long < 0 ? 7 : 16;
    while (count >= 8) {
      count -= 8;
      data[at++] = bits >> count;
    }
    bits &= (1 << count) - 1;
  }
  return data.subarray(0, length);
}

onmessage = async ({ data }) => {
  try {
    if (data.program) {
      program = runner(data.program);
    } else if (data.packed) {
      const unpacked = new Blob([fromCharacters(data.packed, data.length)]).stream().pipeThrough(new DecompressionStream('gzip'));
      // Compiled while it is unpacked.
      const module = await WebAssembly.compileStreaming(new Response(unpacked, { headers: { 'content-type': 'application/wasm' } }));
      program = runner(module);
      postMessage({ program: module });
    } else {
      const started = performance.now();
      const result = program(data.args, data.files, data.columns);
      postMessage({ ...result, took: performance.now() - started });
    }
  } catch (error) {
    postMessage({ failed: String(error?.message ?? error) });
  }
};
