// @ts-check
// Photos: scaled and stripped here, kept as ArrayBuffers, named by their
// SHA-256, and sent to the shop in pieces that can be taken up again.
//
// Drawing the picture anew leaves out everything but its pixels, the place
// where it was taken included.

const LARGEST_FILE = 20 * 1024 * 1024;
const LONG_SIDE = 2048; // px
const QUALITY = 0.85;
const PIECE = 256 * 1024; // bytes
const PATIENCE = 60_000; // ms for one piece

/**
 * @param {ArrayBuffer} file as it came from the camera
 * @returns {Promise<ArrayBuffer>} a JPEG
 * @throws {Error} with a sentence for the person
 */
export async function shrink(file) {
  if (file.byteLength > LARGEST_FILE) {
    const mb = Math.round(file.byteLength / 1024 / 1024);
    throw new Error(`This photo has ${mb} MB; the most is 20. Take it again smaller.`);
  }
  let picture;
  try {
    picture = await createImageBitmap(new Blob([file]), { imageOrientation: 'from-image' });
  } catch {
    throw new Error('This file is no photo that this phone can read.');
  }
  const scale = Math.min(1, LONG_SIDE / Math.max(picture.width, picture.height));
  const width = Math.max(1, Math.round(picture.width * scale));
  const height = Math.max(1, Math.round(picture.height * scale));
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d');
  if (!context) throw new Error('This phone has no room to scale the photo. Close other apps and take it again.');
  context.drawImage(picture, 0, 0, width, height);
  picture.close();
  const jpeg = await canvas.convertToBlob({ type: 'image/jpeg', quality: QUALITY });
  return jpeg.arrayBuffer();
}

/**
 * Sends one photo from where the shop has it up to, in pieces. Each piece is
 * an ArrayBuffer of its own: some browsers never finish a slice of a stored file.
 * @param {import('./store.js').Photo} photo
 * @param {() => Promise<void>} turn waits before each piece until nothing more urgent is under way
 * @returns {Promise<string>} the sentence with which the shop refuses it, '' when it is kept
 * @throws {Error} if the shop cannot be reached; try again later
 */
export async function send(photo, turn) {
  const url = `/photos/${photo.sha}`, size = photo.bytes.byteLength;
  await turn();
  const have = await fetch(url, { method: 'HEAD', cache: 'no-store', signal: AbortSignal.timeout(PATIENCE) });
  if (have.status === 200) return '';
  let offset = have.ok ? Number(have.headers.get('Upload-Offset') ?? 0) : 0;
  for (;;) {
    await turn();
    const response = await fetch(url, {
      method: 'PATCH',
      headers: {
        'Content-Type': 'application/offset+octet-stream',
        'Upload-Offset': String(offset),
        'Upload-Length': String(size),
      },
      body: photo.bytes.slice(offset, offset + PIECE),
      signal: AbortSignal.timeout(PATIENCE),
    });
    if (response.status === 201) return '';
    const at = Number(response.headers.get('Upload-Offset') ?? NaN);
    if (response.status === 204 && at > offset) offset = at;
    else if (response.status === 409 && at !== offset && at >= 0 && at <= size) offset = at; // another tab or an earlier try got further
    else if (response.status >= 400 && response.status < 500 && ![401, 409, 429].includes(response.status)) return response.text();
    else throw new Error(`the shop answered ${response.status}`);
  }
}
