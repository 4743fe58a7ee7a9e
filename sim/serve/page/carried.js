// The engine that a file carries: the program's own code as WebAssembly, in a worker, so that a long answer does not
// stop the page.

import { say } from "./words.js";

/** What the worker does. Its text becomes a file of its own, so nothing from outside can be used here. */
function desk() {
  let [given, engine] = [null, null];

  /** A new engine with the user's own files. */
  const begin = async ({ module, files }) => {
    const { exports } = await WebAssembly.instantiate(module, {});
    const ask = (name, body) => {
      const question = new TextEncoder().encode(`${name}\n${body}`);
      const room = exports.room(question.length);
      new Uint8Array(exports.memory.buffer, room, question.length).set(question);
      const answer = exports.ask(room, question.length) >>> 0;
      const length = new DataView(exports.memory.buffer).getUint32(answer, true);
      const text = new TextDecoder().decode(new Uint8Array(exports.memory.buffer, answer + 4, length));
      exports.release(answer);
      return text;
    };
    if (ask("begin", files) !== "{}") throw new Error("begin");
    return ask;
  };

  const ready = () => {
    engine ??= begin(given);
    return engine;
  };

  onmessage = async ({ data: { start, id, name, body } }) => {
    given ??= start;
    try {
      const ask = await ready();
      if (id) postMessage({ id, text: ask(name, body) });
    } catch {
      // a fault leaves the engine in no known state: the next question gets a new one
      engine = null;
      if (id) postMessage({ id, text: null });
    }
  };
}

/** Bytes of a compressed text in base64. */
async function unpacked(text) {
  const packed = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Response(stream).arrayBuffer();
}

export class Desk {
  /** `engine` is the packed code, `files` the user's own files as JSON. */
  constructor(engine, files) {
    Object.assign(this, { waiting: new Map(), asked: 0 });
    this.worker = this.open(engine, files);
    // told by the first question
    this.worker.catch(() => {});
  }

  async open(engine, files) {
    const module = await WebAssembly.compile(await unpacked(engine));
    const address = URL.createObjectURL(new Blob([`(${desk})()`], { type: "text/javascript" }));
    const worker = new Worker(address);
    worker.onmessage = ({ data: { id, text } }) => {
      this.waiting.get(id)(text ?? JSON.stringify({ error: say("engine.couldNot") }));
      this.waiting.delete(id);
    };
    worker.postMessage({ start: { module, files } });
    return worker;
  }

  /** Answers come as JSON. */
  async ask(name, question) {
    const worker = await this.worker.catch(() => {
      throw new Error(say("engine.noneHere"));
    });
    const id = this.asked += 1;
    return new Promise((found) => {
      this.waiting.set(id, (text) => found(JSON.parse(text)));
      worker.postMessage({ id, name, body: JSON.stringify(question) });
    });
  }
}
