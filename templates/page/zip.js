/* Several records in one file: a ZIP archive without compression (PKWARE APPNOTE, store method). */

const CRC = Uint32Array.from({ length: 256 }, (_, byte) => {
  let value = byte;
  for (let bit = 0; bit < 8; bit += 1) value = value & 1 ? (value >>> 1) ^ 0xedb88320 : value >>> 1;
  return value;
});

/** Return the CRC-32 of some bytes. */
function crc32(bytes) {
  let value = 0xffffffff;
  for (const byte of bytes) value = CRC[(value ^ byte) & 0xff] ^ (value >>> 8);
  return (value ^ 0xffffffff) >>> 0;
}

/** Return an archive of texts, given as [name, text], with one time for all. */
function zipOf(files, when) {
  const encoder = new TextEncoder();
  const date = ((when.getFullYear() - 1980) << 9) | ((when.getMonth() + 1) << 5) | when.getDate();
  const time = (when.getHours() << 11) | (when.getMinutes() << 5) | (when.getSeconds() >> 1);
  const parts = [];
  const index = [];
  let offset = 0;
  for (const [name, text] of files) {
    const named = encoder.encode(name);
    const content = encoder.encode(text);
    // Version 2.0, names in UTF-8, stored; time, date, checksum, both sizes, length of the name.
    const shared = [
      [2, 20], [2, 0x0800], [2, 0], [2, time], [2, date], [4, crc32(content)],
      [4, content.length], [4, content.length], [2, named.length], [2, 0],
    ];
    const head = numbers([[4, 0x04034b50], ...shared]);
    index.push(numbers([
      [4, 0x02014b50], [2, 20], ...shared, [2, 0], [2, 0], [2, 0], [4, 0], [4, offset],
    ]), named);
    parts.push(head, named, content);
    offset += head.length + named.length + content.length;
  }
  const size = index.reduce((sum, part) => sum + part.length, 0);
  const end = numbers([
    [4, 0x06054b50], [2, 0], [2, 0], [2, files.length], [2, files.length], [4, size], [4, offset], [2, 0],
  ]);
  return new Blob([...parts, ...index, end], { type: 'application/zip' });
}

/** Return numbers of so many bytes each, lowest byte first. */
function numbers(pairs) {
  return Uint8Array.from(pairs.flatMap(([size, value]) => (
    Array.from({ length: size }, (_, i) => (value >>> (8 * i)) & 0xff)
  )));
}
