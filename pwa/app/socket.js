// @ts-check
// One websocket to the shop, as frames. A binary message is one byte of flag
// (0 as it is, 1 deflate-raw) and the frame. Which frames exist, when to beat
// and when to give up is the core's business; this only carries them.

const OPEN = 'bayhold.1', PROOF = 'bayhold.1.proof'; // the shop chooses; with proof it speaks first, as text
const WORTH_IT = 1024; // bytes; below that deflate saves nothing
const OPENS = 15_000; // ms that a socket may take to open; browsers wait for minutes

/**
 * @typedef {object} Ends
 * @property {() => void} opened
 * @property {(frame: Uint8Array) => void} frame
 * @property {(message: any) => void} said before the frames: the shop asks who this phone is
 * @property {() => void} closed once, for whatever reason, also when it never opened
 */

export class Socket {
  /** @param {string} url @param {Ends} ends */
  constructor(url, ends) {
    this.ends = ends;
    /** Frames keep their order although deflate is asynchronous. */
    this.outgoing = Promise.resolve();
    this.incoming = Promise.resolve();
    this.over = false;
    this.ws = new WebSocket(url, [PROOF, OPEN]);
    this.ws.binaryType = 'arraybuffer';
    const late = setTimeout(() => this.ws.readyState === WebSocket.CONNECTING && this.drop(), OPENS);
    this.ws.onopen = () => {
      clearTimeout(late);
      if (!this.over && this.ws.protocol !== PROOF) ends.opened();
    };
    this.ws.onclose = () => this.drop();
    this.ws.onerror = () => this.drop();
    this.ws.onmessage = ({ data }) => {
      this.incoming = this.incoming.then(() => this.received(data)).catch(() => this.drop());
    };
  }

  /** @param {Uint8Array} frame @param {boolean} batch whether deflate may be worth it */
  send(frame, batch) {
    this.outgoing = this.outgoing
      .then(async () => {
        const squeeze = batch && frame.length > WORTH_IT;
        const body = squeeze ? await through(frame, new CompressionStream('deflate-raw')) : frame;
        if (this.over || this.ws.readyState !== WebSocket.OPEN) return;
        const message = new Uint8Array(1 + body.length);
        message[0] = squeeze ? 1 : 0;
        message.set(body, 1);
        this.ws.send(message);
      })
      .catch(() => this.drop());
  }

  /** @param {any} message */
  say(message) {
    if (!this.over) this.ws.send(JSON.stringify(message));
  }

  /** @param {ArrayBuffer | string} data */
  async received(data) {
    if (typeof data === 'string') {
      if (!this.over) this.ends.said(JSON.parse(data));
      return;
    }
    const message = new Uint8Array(data);
    if (message.length < 2 || message[0] > 1) throw new Error('no frame');
    const body = message.subarray(1);
    const frame = message[0] === 1 ? await through(body, new DecompressionStream('deflate-raw')) : body;
    if (!this.over) this.ends.frame(frame);
  }

  /** Lets go at once: close() alone can take minutes on a dead network. */
  drop() {
    if (this.over) return;
    this.over = true;
    this.ws.onopen = this.ws.onmessage = this.ws.onclose = this.ws.onerror = null;
    try {
      this.ws.close();
    } catch {
      // Already gone.
    }
    this.ends.closed();
  }
}

/** @param {Uint8Array} bytes @param {any} stream @returns {Promise<Uint8Array>} */
async function through(bytes, stream) {
  const writer = stream.writable.getWriter();
  writer.write(bytes).catch(() => {}); // the reading end reports it
  writer.close().catch(() => {});
  return new Uint8Array(await new Response(stream.readable).arrayBuffer());
}
