// Stills wait on this phone until the server has them. The open page sends its own and holds a lock as long as it is
// open; once it is gone they go by way of the outbox. Where nothing can be kept, they wait on the page alone.
import { outbox, strip } from "../outbox/page.js";
import { isHeldUp } from "../outbox/sender.js";

export class Waiting {
  constructor() {
    if (!outbox) return;
    this.page = crypto.randomUUID();
    outbox.own.add(this.page);
    this.held = new Promise((resolve) => {
      navigator.locks.request(`page-${this.page}`, () => new Promise(() => resolve()));
    });
  }

  // Keep a form before it is sent: the entry, or null where this phone does not keep it, which the strip says.
  async keep(form) {
    if (!outbox) return null;
    await this.held;
    return outbox.put({ ...form, page: this.page }).catch((error) => strip.refuse(error, form) || null);
  }

  // Whether something that was written earlier has to be sent first: the log of a walk-in, who is no student yet.
  async isHeldUp(kept) {
    if (!kept) return false;
    const entries = await outbox.store.all().catch(() => []);
    const waits = isHeldUp(kept, entries.filter(({ id, page }) => id < kept.id && page !== this.page));
    if (waits) outbox.send();
    return waits;
  }

  // What the page could not send is listed by the strip, with why.
  async fail(kept, problem) {
    if (!kept) return;
    outbox.stuck.add(this.page);
    await outbox.store.change(kept, { problem });
    outbox.tell({});
  }

  forget(kept) {
    if (kept) return outbox.drop(kept);
  }

  calm() {
    outbox?.stuck.delete(this.page);
  }

  // `news` as the outbox tells it: what was dropped, sent or asked for, in this tab or another.
  onchange(listener) {
    outbox?.onchange(listener);
  }
}
