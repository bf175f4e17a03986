// The camera of the phone as a live view. A picture is taken from what it shows; nothing is recorded and no sound is asked for.
const WANTED = { audio: false, video: { facingMode: { ideal: "environment" }, width: { ideal: 1920 }, height: { ideal: 1440 } } };
const OTHERWISE = "You can choose a picture below instead: a phone offers its own camera there.";
const WHY_NOT = {
  NotAllowedError: "This site may not use the camera. Allow it in the browser’s settings for this site, then press again.",
  NotFoundError: "No camera was found.",
  NotReadableError: "The camera does not answer; perhaps another app uses it.",
};

export const hasCamera = Boolean(navigator.mediaDevices?.getUserMedia); // only on a page with TLS

export class Camera {
  #stream = null;

  constructor(video) {
    this.video = video;
    window.addEventListener("pagehide", () => this.close());
  }

  // Empty words once it shows something, or why it does not.
  async open() {
    this.close();
    try {
      this.#stream = await navigator.mediaDevices.getUserMedia(WANTED);
      this.video.srcObject = this.#stream;
      await this.video.play();
      return "";
    } catch (error) {
      this.close();
      return `${WHY_NOT[error.name] || "The camera cannot be opened."} ${OTHERWISE}`;
    }
  }

  close() {
    for (const track of this.#stream?.getTracks() || []) track.stop();
    this.#stream = this.video.srcObject = null;
  }
}
