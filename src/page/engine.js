
// Runs the program: `engine.quick` for answers while one types, `engine.long` for work that takes
// seconds and can be stopped. Each has a worker of its own, so that neither waits for the other.
const engine = (() => {
  const source = document.getElementById('worker').textContent;
  const address = URL.createObjectURL(new Blob([source], { type: 'text/javascript' }));
  let settle;
  const ready = new Promise((resolve, reject) => { settle = { resolve, reject }; });
  let program = null;

  // `limit`: milliseconds after which a run counts as hung; without one somebody has a button to stop it.
  function lane(limit = null) {
    let worker = null, current = null, queue = [], watch;
    const start = message => {
      worker = new Worker(address);
      worker.onmessage = ({ data }) => answer(data);
      worker.onerror = event => answer({ failed: event.message });
      worker.postMessage(message);
    };
    const answer = data => {
      if (data.program) { program = data.program; settle.resolve(); return; }
      if (!current) { settle.reject(new Error(data.failed)); return; }
      const { resolve } = current;
      clearTimeout(watch);
      current = null;
      resolve(data.failed ? { code: 70, stdout: '', stderr: data.failed, took: 0 } : data);
      advance();
    };
    const advance = () => {
      if (current || queue.length === 0) return;
      current = queue.shift();
      if (!worker) start({ program });
      worker.postMessage({ args: current.args, files: current.files, columns: columns() });
      if (limit) watch = setTimeout(hung, limit);
    };
    const hung = () => {
      worker.terminate();
      worker = null;
      answer({ failed: t('answer.hung') });
    };
    return {
      unpack({ textContent: packed, dataset: { length } }) { start({ packed, length: Number(length) }); },
      // Resolves to the result, or to null if a newer run of the same purpose came or it was stopped.
      async run(args, files, purpose = null) {
        await ready;
        return new Promise(resolve => {
          if (purpose) {
            queue = queue.filter(job => job.purpose !== purpose || job.resolve(null));
          }
          queue.push({ args, files: new Map(files), purpose, resolve });
          advance();
        });
      },
      stop() {
        for (const job of [current, ...queue]) job?.resolve(null);
        current = null;
        queue = [];
        worker?.terminate();
        worker = null;
      },
    };
  }

  const quick = lane(120_000), long = lane();
  return { quick, long, ready, start: () => quick.unpack(document.getElementById('program')) };
})();
