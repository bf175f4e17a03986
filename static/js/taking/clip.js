// A clip of the phone, opened where it lies and never sent: looked through slowly, and frame by frame.
const USUAL_FRAME = 1 / 30; // s, where the browser does not say which frame it shows
const FASTEST_FRAME = 1 / 240;
const SHOWN_WITHIN = 250; // ms after a seek, in which a new frame is shown if there is one
const FORMATS = {
  "MP4 (H.264)": 'video/mp4; codecs="avc1.42E01E"',
  "MP4 (HEVC)": 'video/mp4; codecs="hvc1.1.6.L93.B0"',
  "WebM (VP8)": 'video/webm; codecs="vp8"',
  "WebM (VP9)": 'video/webm; codecs="vp9"',
  "MP4 (AV1)": 'video/mp4; codecs="av01.0.04M.08"',
};

export class Clip {
  #address = "";
  #frame = USUAL_FRAME;
  #at = 0; // when the frame that is shown begins, as far as is known
  #seeking = Promise.resolve();
  #wanted = null;

  constructor(video) {
    this.video = video;
    window.addEventListener("pagehide", () => this.close());
  }

  // Empty words once its first frame is shown, or why it is not.
  async open(file) {
    this.close();
    this.#address = URL.createObjectURL(file);
    this.video.src = this.#address;
    const isThere = await once(this.video, "loadeddata");
    if (!isThere || !this.video.videoWidth) {
      this.close();
      return cannotPlay(file);
    }
    await this.#findEnd();
    await this.#show(0);
    return "";
  }

  close() {
    if (this.#address) URL.revokeObjectURL(this.#address);
    this.#address = "";
    this.video.removeAttribute("src");
    this.video.load();
  }

  // Some recorders do not write how long a clip is: the end is found by going there.
  async #findEnd() {
    if (Number.isFinite(this.video.duration)) return;
    this.video.currentTime = Number.MAX_SAFE_INTEGER;
    await once(this.video, "seeked");
  }

  // To a moment; of many that are asked for while one is sought, the last one is shown.
  go(time) {
    this.#wanted = time;
    this.#seeking = this.#seeking.then(async () => {
      if (this.#wanted !== time) return;
      this.#wanted = null;
      await this.#show(time);
    });
    return this.#seeking;
  }

  // One frame on or back.
  step(direction) {
    this.#wanted = null;
    this.#seeking = this.#seeking.then(() => direction < 0 ? this.#back() : this.#on());
    return this.#seeking;
  }

  async #back() {
    const before = this.video.requestVideoFrameCallback ? this.#at - FASTEST_FRAME / 4 : this.video.currentTime - USUAL_FRAME;
    await this.#show(Math.max(0, before));
  }

  // Twice as far until another frame is shown: none is left out, since the last try was still within the frame before.
  async #on() {
    if (!this.video.requestVideoFrameCallback) return this.#show(this.video.currentTime + USUAL_FRAME);
    const from = this.#at;
    for (let far = Math.max(FASTEST_FRAME, this.#frame * 0.6); far < 2; far *= 2) {
      await this.#show(Math.min(from + far, this.video.duration || from + far));
      if (this.#at !== from) break;
      if (from + far >= this.video.duration) break;
    }
    if (this.#at > from) this.#frame = this.#at - from;
  }

  async #show(time) {
    this.video.pause();
    const shown = this.#nextFrame();
    this.video.currentTime = time;
    await once(this.video, "seeked");
    const at = await Promise.race([shown, new Promise((resolve) => { setTimeout(resolve, SHOWN_WITHIN, null); })]);
    if (at !== null) this.#at = at;
  }

  // When the frame that is shown next begins; without such a browser, the moment that was asked for.
  #nextFrame() {
    if (!this.video.requestVideoFrameCallback) return once(this.video, "seeked").then(() => this.video.currentTime);
    return new Promise((resolve) => { this.video.requestVideoFrameCallback((_, { mediaTime }) => resolve(mediaTime)); });
  }

  // Slowly on, or a stop; from where it stops, frames are stepped.
  async toggle() {
    if (!this.video.paused) return this.#show(this.video.currentTime);
    this.video.playbackRate = 0.25;
    await this.video.play().catch(() => {});
  }
}

// Whether something happened, rather than an error.
function once(target, name) {
  return new Promise((resolve) => {
    const end = new AbortController();
    target.addEventListener(name, () => { end.abort(); resolve(true); }, { signal: end.signal });
    target.addEventListener("error", () => { end.abort(); resolve(false); }, { signal: end.signal });
  });
}

function cannotPlay({ name, type }) {
  const video = document.createElement("video");
  const played = Object.keys(FORMATS).filter((format) => video.canPlayType(FORMATS[format]));
  const what = type ? `${name} (${type})` : name;
  return `This browser cannot play ${what}. It plays ${played.join(", ") || "no clips"}. Or open the clip in the phone’s own app, ` +
    "stop it where you want, take a screenshot, and choose that as the picture.";
}
