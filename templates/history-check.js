// The page checks itself: its records against the signed head, what is shown against its records.
//
// It asks nothing of any other place. Whoever changes the page can change this script too, so it
// says what it cannot prove. The words it uses stand in the page ("check-words"), the records and
// the signature in "proof": leaf = salt and canonical text (RFC 8785) of a record, root after
// RFC 6962, head signed with Ed25519 (RFC 8032). Data holds no number, only text, true, false,
// null, lists and objects.
(function () {
  "use strict";

  const HEAD = "recondition head 1";
  const PROOF = "recondition proof 1";
  const PROOF_KEYS = "files,format,head,key,records,signature";
  const PLACES = ["code", "fingerprint", "status"];
  const SHOWN_FAULTS = 20;
  const SHOWN_SIGNS = 80;
  const SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
  // The blanks of Unicode, so that a narrow one in a number counts like a common one.
  const BLANKS = /[\t-\r\x1c-\x20\x85\xa0\u1680\u2000-\u200a\u2028\u2029\u202f\u205f\u3000]+/g;
  // What could show words or pictures that are not looked at here.
  const FOREIGN = "iframe, frame, object, embed, video, audio, canvas, input, textarea, select, " +
    "template, picture, image, foreignObject, [srcset]";
  const START = Int32Array.of(
    0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19,
  );
  const ROUNDS = Int32Array.of(
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2,
  );

  // SHA-256 (FIPS 180-4): mixes the 64 bytes at a place into the state.
  const schedule = new Int32Array(64);
  function mix(state, bytes, at) {
    for (let i = 0; i < 16; i++) {
      const j = at + 4 * i;
      schedule[i] = bytes[j] << 24 | bytes[j + 1] << 16 | bytes[j + 2] << 8 | bytes[j + 3];
    }
    for (let i = 16; i < 64; i++) {
      const p = schedule[i - 15];
      const q = schedule[i - 2];
      const low = (p >>> 7 | p << 25) ^ (p >>> 18 | p << 14) ^ p >>> 3;
      const high = (q >>> 17 | q << 15) ^ (q >>> 19 | q << 13) ^ q >>> 10;
      schedule[i] = schedule[i - 16] + low + schedule[i - 7] + high;
    }
    let [a, b, c, d, e, f, g, h] = state;
    for (let i = 0; i < 64; i++) {
      const turnedE = (e >>> 6 | e << 26) ^ (e >>> 11 | e << 21) ^ (e >>> 25 | e << 7);
      const turnedA = (a >>> 2 | a << 30) ^ (a >>> 13 | a << 19) ^ (a >>> 22 | a << 10);
      const one = h + turnedE + (e & f ^ ~e & g) + ROUNDS[i] + schedule[i] | 0;
      const two = turnedA + (a & b ^ a & c ^ b & c) | 0;
      h = g; g = f; f = e; e = d + one | 0; d = c; c = b; b = a; a = one + two | 0;
    }
    [a, b, c, d, e, f, g, h].forEach((value, i) => { state[i] += value; });
  }

  function sha256(bytes) {
    const state = START.slice();
    const rest = bytes.length % 64;
    const whole = bytes.length - rest;
    for (let at = 0; at < whole; at += 64) mix(state, bytes, at);
    const tail = new Uint8Array(rest < 56 ? 64 : 128);
    tail.set(bytes.subarray(whole));
    tail[rest] = 0x80;
    const view = new DataView(tail.buffer);
    view.setUint32(tail.length - 8, Math.floor(bytes.length / 0x20000000));
    view.setUint32(tail.length - 4, bytes.length << 3);
    for (let at = 0; at < tail.length; at += 64) mix(state, tail, at);
    const hash = new DataView(new ArrayBuffer(32));
    state.forEach((value, i) => hash.setInt32(4 * i, value));
    return new Uint8Array(hash.buffer);
  }

  // Bytes and texts.
  const utf8 = (text) => new TextEncoder().encode(text);
  const hex = (bytes) => Array.from(bytes, (byte) => (byte + 256).toString(16).slice(1)).join("");
  const fromHex = (text) => Uint8Array.from(text.match(/../g) || [], (pair) => parseInt(pair, 16));
  const squeezed = (text) => text.replace(BLANKS, " ").replace(/^ | $/g, "");
  const quoted = (text) => {
    const signs = Array.from(text);
    return signs.length > SHOWN_SIGNS ? signs.slice(0, SHOWN_SIGNS).join("") + "…" : text;
  };

  function joined(...parts) {
    const whole = new Uint8Array(parts.reduce((size, part) => size + part.length, 0));
    parts.reduce((at, part) => { whole.set(part, at); return at + part.length; }, 0);
    return whole;
  }

  // Base64 is taken in the one form in which it would be written again; null for anything else.
  function fromBase64(text) {
    let binary;
    try { binary = atob(text); } catch (error) { return null; }
    if (btoa(binary) !== text) return null;
    const bytes = new Uint8Array(binary.length);
    for (let i = 0; i < bytes.length; i++) bytes[i] = binary.charCodeAt(i);
    return bytes;
  }

  // Canonical text (RFC 8785) of a value without numbers: names by UTF-16 unit, no blanks.
  function canonical(value) {
    if (value === null || typeof value === "boolean" || typeof value === "string") {
      return JSON.stringify(value);
    }
    if (Array.isArray(value)) return "[" + value.map(canonical).join(",") + "]";
    if (typeof value !== "object") throw new TypeError("a number");
    const pair = (name) => canonical(name) + ":" + canonical(value[name]);
    return "{" + Object.keys(value).sort().map(pair).join(",") + "}";
  }

  // Crockford's base 32 in groups of four: as codes and fingerprints stand on paper.
  function onPaper(bytes) {
    const bits = Array.from(bytes, (byte) => (byte + 256).toString(2).slice(1)).join("");
    const signs = bits.match(/.{5}/g).map((five) => SIGNS[parseInt(five, 2)]);
    return signs.join("").match(/.{4}/g).join("-");
  }

  const leafHash = (item) =>
    sha256(joined([0], fromHex(item.salt), utf8(canonical(item.record))));

  function treeRoot(hashes) {
    if (hashes.length === 0) return sha256(new Uint8Array(0));
    if (hashes.length === 1) return hashes[0];
    let half = 1;
    while (2 * half < hashes.length) half *= 2;
    return sha256(joined([1], treeRoot(hashes.slice(0, half)), treeRoot(hashes.slice(half))));
  }

  const kept = document.getElementById("check-words");
  const words = kept ? JSON.parse(kept.textContent) : {};
  const say = (key, values) =>
    String(words[key] || key).replace(/\{(\w+)\}/g, (whole, name) => values[name]);

  // Reads the proof; a text that would not be written again just so is refused, as is odd data.
  function readProof() {
    const text = document.getElementById("proof").textContent;
    const proof = JSON.parse(text);
    const escaped = (sign) => "\\u" + sign.charCodeAt(0).toString(16).padStart(4, "0");
    const isText = (value) => typeof value === "string";
    const isItem = (item) => /^(leaf,)?record,salt$/.test(Object.keys(item)) &&
      /^[0-9a-f]{64}$/.test(item.salt) && isText(item.record.name) &&
      (item.record.data.text === undefined || item.record.data.text.every(isText));
    const good = canonical(proof).replace(/[<>&\u2028\u2029]/g, escaped) === text &&
      String(Object.keys(proof)) === PROOF_KEYS && proof.format === PROOF &&
      proof.head.format === HEAD && Array.isArray(proof.files) && proof.records.every(isItem);
    if (!good) throw new TypeError("another form");
    return proof;
  }

  // The records against the head: each leaf, each place, the root, the number, the list of files.
  function checkRecords(proof, records, fault) {
    const hashes = proof.records.map(leafHash);
    let next = 1;
    proof.records.forEach(({ leaf, record }, i) => {
      const { name, place } = record;
      if (records.get(name) !== record) fault("twice", { name });
      if (leaf !== undefined && leaf !== hex(hashes[i])) fault("leaf", { name });
      // Behind a gap only the first record is out of place; the others still follow one another.
      if (place !== undefined && place !== String(next) && place !== String(i + 1)) {
        fault("place", { name, place, found: String(i + 1) });
      }
      next = Number(place) + 1;
    });
    const { head } = proof;
    const found = String(hashes.length);
    if (head.records !== found) fault("number", { found, signed: head.records });
    if (head.root !== hex(treeRoot(hashes))) fault("root", {});
    if (head.files_sha256 !== hex(sha256(utf8(canonical(proof.files))))) fault("list", {});
  }

  // The signature, where the browser can check it: "signed", "signature" (wrong) or "unsigned".
  async function checkSignature(proof) {
    const key = fromBase64(proof.key);
    const signature = fromBase64(proof.signature);
    if (!key || key.length !== 32 || !signature || signature.length !== 64) return "signature";
    if (!window.crypto || !window.crypto.subtle) return "unsigned";
    const said = utf8(HEAD + "\n" + canonical(proof.head));
    try {
      const known = await window.crypto.subtle.importKey("raw", key, "Ed25519", false, ["verify"]);
      const holds = await window.crypto.subtle.verify("Ed25519", known, signature, said);
      return holds ? "signed" : "signature";
    } catch (error) {
      return error.name === "DataError" ? "signature" : "unsigned";
    }
  }

  // Collects the visible text by record; text that belongs to none is a fault.
  function visibleText(fault) {
    const shown = new Map();
    const walker = document.createTreeWalker(document.documentElement, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
      const text = squeezed(walker.currentNode.data);
      const parent = walker.currentNode.parentElement;
      if (text === "" || parent.closest("script, style")) continue;
      const owner = parent.closest("[data-record], [data-proof]");
      const { record, proof } = owner ? owner.dataset : {};
      if (record !== undefined && proof === undefined) {
        shown.set(record, (shown.get(record) || []).concat(text));
      } else if (record !== undefined || !PLACES.includes(proof)) {
        fault("outside", { text: quoted(text) });
      }
    }
    return shown;
  }

  // What is shown against the records: every word, every record, in their order.
  function checkText(records, shown, fault) {
    for (const [name, found] of shown) {
      const signed = ((records.get(name) || { data: {} }).data.text || []).map(squeezed);
      if (!records.has(name)) fault("unknown", { name, text: quoted(found[0]) });
      let at = 0;
      while (at < found.length && found[at] === signed[at]) at++;
      if (records.has(name) && (at < found.length || at < signed.length)) {
        const text = (list) => at < list.length ? quoted(list[at]) : say("nothing", {});
        fault("words", { name, found: text(found), signed: text(signed) });
      }
    }
    const wanted = Array.from(records.values()).filter(({ data }) => data.text && data.text.length);
    const missing = wanted.filter(({ name }) => !shown.has(name));
    missing.forEach(({ name }) => fault("missing", { name }));
    const order = wanted.map(({ name }) => name).filter((name) => shown.has(name));
    const seen = Array.from(shown.keys()).filter((name) => order.includes(name));
    const moved = seen.findIndex((name, i) => name !== order[i]);
    if (moved >= 0) fault("order", { name: seen[moved], expected: order[moved] });
  }

  // The pictures against the records: every byte and what is said of each where it is not seen.
  async function checkPictures(records, fault) {
    const pictures = Array.from(document.images);
    for (const picture of pictures) {
      await new Promise((resume) => setTimeout(resume));
      const name = picture.dataset.picture;
      const { data } = records.get(name) || { data: {} };
      const source = picture.getAttribute("src") || "";
      const parts = /^data:image\/[a-z0-9.+-]+;base64,(.*)$/.exec(source);
      const bytes = parts && fromBase64(parts[1]);
      if (data.picture_sha256 === undefined) {
        fault("stray", { name: quoted(name || picture.alt || say("nothing", {})) });
      } else if (!bytes || hex(sha256(bytes)) !== data.picture_sha256) {
        fault("picture", { name });
      } else if (picture.getAttribute("alt") !== data.alt) {
        fault("alt", { name, found: quoted(picture.alt), signed: quoted(String(data.alt)) });
      }
    }
    const shown = new Set(pictures.map((picture) => picture.dataset.picture));
    const missing = Array.from(records.values()).filter(
      ({ data, name }) => data.picture_sha256 !== undefined && !shown.has(name));
    missing.forEach(({ name }) => fault("unshown", { name }));
    return pictures.length;
  }

  // The labels of cells on a narrow page against the headings of their columns.
  function checkLabels(fault) {
    for (const cell of document.querySelectorAll("[data-label]")) {
      let column = 0;
      for (let left = cell; (left = left.previousElementSibling);) column += left.colSpan || 1;
      const table = cell.closest("table");
      const heading = table && table.tHead && table.tHead.rows[0].cells[column];
      const label = cell.dataset.label;
      if (!heading || squeezed(heading.textContent) !== squeezed(label)) {
        const owner = cell.closest("[data-record]") || cell.querySelector("[data-record]");
        const name = owner ? owner.dataset.record : quoted(squeezed(cell.textContent));
        const signed = heading ? squeezed(heading.textContent) : say("nothing", {});
        fault("label", { name, found: quoted(label), signed: quoted(signed) });
      }
    }
  }

  // The code and the fingerprint as shown, and whatever could show what is not looked at here.
  function checkRest(codes, fault) {
    for (const kind of Object.keys(codes)) {
      const places = Array.from(document.querySelectorAll('[data-proof="' + kind + '"]'));
      const texts = places.length ? places.map((place) => squeezed(place.textContent)) : [""];
      const other = texts.find((text) => text !== codes[kind]);
      if (other !== undefined) {
        fault(kind, { found: quoted(other) || say("nothing", {}), signed: codes[kind] });
      }
    }
    for (const element of document.querySelectorAll("*")) {
      const name = element.localName;
      const script = name === "script" && !/json/.test(element.type) && element !== own;
      if (script || element.shadowRoot || element.matches(FOREIGN)) fault("foreign", { name });
    }
  }

  // Shows a state and what there is to say, in the places kept for it and nowhere else.
  function show(state, lines) {
    for (const place of document.querySelectorAll('[data-proof="status"]')) {
      const tag = { OL: "li", UL: "li", P: "span", SPAN: "span" }[place.tagName] || "p";
      place.dataset.state = state;
      place.textContent = "";
      for (const line of lines) {
        const element = document.createElement(tag);
        element.textContent = line;
        if (tag === "span") element.style.display = "block";
        place.append(element);
      }
    }
  }

  const limits = () => ["limit_page", "limit_words", "limit_files", "limit_signer", "limit_vehicle"]
    .map((key) => say(key, {}));

  async function checked(proof, fault) {
    const records = new Map(proof.records.map(({ record }) => [record.name, record]));
    const codes = {
      code: onPaper(sha256(utf8(canonical(proof.head))).subarray(0, 10)),
      fingerprint: onPaper(sha256(fromBase64(proof.key) || new Uint8Array(0)).subarray(0, 20)),
    };
    checkRecords(proof, records, fault);
    const signature = await checkSignature(proof);
    if (signature === "signature") fault("signature", {});
    const shown = visibleText(fault);
    checkText(records, shown, fault);
    checkLabels(fault);
    checkRest(codes, fault);
    const pictures = await checkPictures(records, fault);
    const counts = { records: proof.records.length, texts: shown.size, pictures };
    return ["counts", signature, "compare"].filter((key) => key !== "signature")
      .map((key) => say(key, Object.assign(counts, codes)));
  }

  async function check() {
    const faults = [];
    const fault = (key, values) => faults.push(say("fault_" + key, values));
    const unread = Array.from(document.querySelectorAll('[data-proof="status"]'));
    const before = unread.find((place) => squeezed(place.textContent) !== say("not_checked", {}));
    if (before) fault("status", { found: quoted(squeezed(before.textContent)) });
    show("checking", [say("checking", {})]);
    let proof = null;
    try { proof = readProof(); } catch (error) { fault("proof", {}); }
    const found = proof ? await checked(proof, fault) : [];
    const more = faults.length - SHOWN_FAULTS;
    const lines = faults.slice(0, SHOWN_FAULTS);
    if (more > 0) lines.push(say("more", { count: more }));
    const state = faults.length ? "altered" : "unchanged";
    show(state, [say(state, {}), ...lines, ...found, ...limits()]);
  }

  // Whatever goes wrong, the page never stays at "checking" and never says "unchanged".
  const broken = () => ["altered", "fault_proof"].map((key) => say(key, {})).concat(limits());
  const begin = () => check().catch(() => show("altered", broken()));
  const own = document.currentScript;
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", begin);
  else begin();
})();
