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
    /** Frames keep their order although deflate is asynchronous. It begins at
     * once, so that it goes on beside what the core does with other frames. */
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
      const frame = unpack(data);
      frame.catch(() => {}); // said below
      this.incoming = this.incoming.then(async () => this.received(await frame)).catch(() => this.drop());
    };
  }

  /** @param {Uint8Array} frame @param {boolean} batch whether deflate may be worth it */
  send(frame, batch) {
    const squeeze = batch && frame.length > WORTH_IT;
    const packed = squeeze ? through(frame, new CompressionStream('deflate-raw')) : null;
    packed?.catch(() => {}); // said below
    this.outgoing = this.outgoing
      .then(async () => {
        const body = packed ? await packed : frame;
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

  /** @param {Uint8Array | string} message */
  received(message) {
    if (this.over) return;
    if (typeof message === 'string') this.ends.said(JSON.parse(message));
    else this.ends.frame(message);
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

/** The frame in a message; what is text stays as it is.
 * @param {ArrayBuffer | string} data */
async function unpack(data) {
  if (typeof data === 'string') return data;
  const message = new Uint8Array(data);
  if (message.length < 2 || message[0] > 1) throw new Error('no frame');
  const body = message.subarray(1);
  return message[0] === 1 ? through(body, new DecompressionStream('deflate-raw')) : body;
}

/** @param {Uint8Array} bytes @param {any} stream @returns {Promise<Uint8Array>} */
async function through(bytes, stream) {
  const writer = stream.writable.getWriter();
  writer.write(bytes).catch(() => {}); // the reading end reports it
  writer.close().catch(() => {});
  const parts = [];
  let length = 0;
  for (const reader = stream.readable.getReader(); ; ) {
    const { done, value } = await reader.read();
    if (done) break;
    parts.push(value);
    length += value.length;
  }
  const whole = new Uint8Array(length);
  length = 0;
  for (const part of parts) {
    whole.set(part, length);
    length += part.length;
  }
  return whole;
}
