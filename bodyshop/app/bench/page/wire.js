// The line to the server: one JSON object a message. When it breaks it is taken up again.

const FIRST_WAIT = 250;
const LONGEST_WAIT = 4000;

export class Wire {
  constructor(file, hear, changed) {
    this.file = file;
    this.hear = hear;
    this.changed = changed;
    this.wait = FIRST_WAIT;
    this.socket = null;
    this.connect();
  }

  get isOpen() {
    return this.socket !== null && this.socket.readyState === WebSocket.OPEN;
  }

  connect() {
    const socket = new WebSocket(`ws://${location.host}/wire?file=${encodeURIComponent(this.file)}`);
    this.socket = socket;
    socket.addEventListener("open", () => {
      this.wait = FIRST_WAIT;
      this.changed(true);
    });
    socket.addEventListener("message", (event) => this.hear(JSON.parse(event.data)));
    socket.addEventListener("close", () => {
      this.changed(false);
      setTimeout(() => this.connect(), this.wait);
      this.wait = Math.min(2 * this.wait, LONGEST_WAIT);
    });
  }

  tell(kind, body = {}) {
    if (!this.isOpen) return false;
    this.socket.send(JSON.stringify({ ...body, kind }));
    return true;
  }
}
