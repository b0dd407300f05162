// Moves a crop on its photo, shows what the shop will cut, and writes the correction file.
(() => {
  "use strict";

  const numbers = (text) => (text ? text.split(" ").map(Number) : null);
  const clamp = (v, low, high) => Math.min(Math.max(v, low), high);
  const holds = (box, part) =>
    part[0] >= box[0] && part[1] >= box[1] &&
    part[0] + part[2] <= box[0] + box[2] && part[1] + part[3] <= box[1] + box[3];

  // The largest box of a ratio in the middle of another, rounded as the program rounds.
  const middle = (box, [a, b]) => {
    const [x, y, w, h] = box;
    const [tw, th] = w * b <= h * a
      ? [w, Math.floor((w * b + Math.floor(a / 2)) / a)]
      : [Math.floor((h * a + Math.floor(b / 2)) / b), h];
    return [x + Math.floor((w - tw) / 2), y + Math.floor((h - th) / 2), tw, th];
  };

  const corners = ([x, y, w, h]) => {
    const n = Math.max(1, Math.floor(Math.min(w, h) * 0.11));
    const r = x + w, b = y + h;
    return `M${x} ${y + n}V${y}H${x + n}M${r - n} ${y}H${r}V${y + n}` +
      `M${r} ${b - n}V${b}H${r - n}M${x + n} ${b}H${x}V${b - n}`;
  };
  const around = ([x, y, w, h], [fw, fh]) => `M0 0H${fw}V${fh}H0ZM${x} ${y}V${y + h}H${x + w}V${y}Z`;

  // TOML: a bare key, or a basic string, whose escapes JSON shares.
  const key = (name) => /^[A-Za-z0-9_-]+$/.test(name)
    ? name
    : JSON.stringify(name).replace(/\u007f/g, "\\u007f");

  class Photo {
    constructor(article) {
      const d = article.dataset;
      this.hash = d.photo;
      this.size = numbers(d.size);
      this.turn = Number(d.turn);
      this.told = numbers(d.told);
      this.file = d.save;
      this.accepts = article.querySelectorAll("input.accept");
      this.accept = d.accept === "yes";
      this.outputs = [...article.querySelectorAll(".output[data-crop]")].map((o) => new Output(this, o));
      for (const box of this.accepts) {
        box.addEventListener("change", () => {
          this.accept = box.checked;
          for (const other of this.accepts) other.checked = box.checked;
        });
      }
    }

    correction(pressed) {
      const lines = [`photo = "${this.hash}"`];
      if (this.turn) lines.push(`turn = ${this.turn}`);
      if (this.told) lines.push(`subject = [${this.told.join(", ")}]`);
      if (this.accept) lines.push("accept = true");
      for (const o of this.outputs) {
        if (o === pressed || o.given || o.moved()) {
          lines.push("", `[${key(o.profile)}]`, `crop = [${o.crop.join(", ")}]`);
        }
      }
      return lines.join("\n") + "\n";
    }

    save(pressed) {
      const blob = new Blob([this.correction(pressed)], { type: "application/toml" });
      const link = document.createElement("a");
      link.href = URL.createObjectURL(blob);
      link.download = this.file;
      link.click();
      setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    }
  }

  class Output {
    constructor(photo, root) {
      const d = root.dataset;
      this.photo = photo;
      this.root = root;
      this.profile = d.profile;
      this.start = numbers(d.crop);
      this.crop = this.start.slice();
      this.subject = numbers(d.subject);
      this.given = d.given === "yes";
      this.least = Number(d.least);
      this.ratio = d.shape === "as-is" ? null : d.shape.split(":").map(Number);
      this.stage = root.querySelector(".stage");
      this.label = this.stage.getAttribute("aria-label");
      this.cuts = [...root.querySelectorAll(".cut")].map((c) => ({
        picture: c.querySelector("svg"),
        words: c.querySelector(".fit"),
        ratio: c.dataset.shape ? c.dataset.shape.split(":").map(Number) : null,
        first: [c.querySelector("svg").getAttribute("viewBox"), c.querySelector(".fit")?.textContent],
      }));
      this.open = root.querySelector(".open");
      this.tools = root.querySelector(".tools");
      this.size = root.querySelector(".live");
      this.status = root.querySelector(".status");
      this.open.parentElement.hidden = false;
      this.open.addEventListener("click", () => this.toggle());
      this.tools.addEventListener("click", (e) => {
        const what = e.target.closest("button")?.dataset.do;
        if (what) this.act(what, false);
      });
      this.stage.addEventListener("keydown", (e) => this.pressed(e));
      this.stage.addEventListener("pointerdown", (e) => this.grab(e));
    }

    moved() { return this.crop.some((v, i) => v !== this.start[i]); }
    editing() { return this.open.getAttribute("aria-expanded") === "true"; }

    toggle() {
      const on = !this.editing();
      this.open.setAttribute("aria-expanded", String(on));
      this.open.textContent = on ? "Done" : "Move the crop";
      this.tools.hidden = !on;
      this.root.classList.toggle("moving", on);
      if (on) {
        this.stage.setAttribute("role", "application");
        this.stage.setAttribute("tabindex", "0");
        this.stage.setAttribute("aria-label",
          "The crop on the photo. Arrow keys move it, plus and minus change its size, Escape puts it back.");
        this.draw();
        this.stage.focus({ preventScroll: true });
      } else {
        this.stage.setAttribute("role", "img");
        this.stage.removeAttribute("tabindex");
        this.stage.setAttribute("aria-label", this.label);
      }
    }

    // The size of the shape nearest to a width, within what the frame allows. Whole multiples of
    // the ratio keep the shape exact.
    sized(width, room) {
      const [rw, rh] = room;
      if (this.ratio) {
        const [a, b] = this.ratio;
        const most = Math.floor(Math.min(rw / a, rh / b));
        const least = Math.max(1, Math.ceil(Math.min(this.photo.size[0] / a, this.photo.size[1] / b) / 12));
        if (most < least) return null;
        const k = clamp(Math.round(width / a), least, most);
        return [a * k, b * k];
      }
      const shape = this.start[2] / this.start[3];
      const w = clamp(Math.round(width), Math.min(16, rw), Math.floor(Math.min(rw, rh * shape)));
      return [w, clamp(Math.round(w / shape), 1, rh)];
    }

    shift(dx, dy) {
      const [fw, fh] = this.photo.size;
      this.crop[0] = clamp(Math.round(this.crop[0] + dx), 0, fw - this.crop[2]);
      this.crop[1] = clamp(Math.round(this.crop[1] + dy), 0, fh - this.crop[3]);
    }

    scale(by) {
      const [x, y, w, h] = this.crop;
      const step = Math.max(1, this.ratio ? this.ratio[0] : 1);
      const wish = by > 1 ? Math.max(w * by, w + step) : Math.min(w * by, w - step);
      const size = this.sized(wish, this.photo.size);
      if (!size) return;
      this.crop = [x, y, ...size];
      this.shift((w - size[0]) / 2, (h - size[1]) / 2);
    }

    act(what, fine) {
      const n = fine ? 1 : Math.max(1, Math.round(Math.max(...this.photo.size) / 100));
      if (what === "left") this.shift(-n, 0);
      else if (what === "right") this.shift(n, 0);
      else if (what === "up") this.shift(0, -n);
      else if (what === "down") this.shift(0, n);
      else if (what === "wider") this.scale(fine ? 1.001 : 1.03);
      else if (what === "tighter") this.scale(fine ? 0.999 : 0.97);
      else if (what === "back") this.crop = this.start.slice();
      else if (what === "save") {
        this.photo.save(this);
        this.say(`Saved as ${this.photo.file}. Now put that file into your inbox.`);
        return;
      }
      this.draw();
    }

    pressed(event) {
      if (!this.editing() || event.ctrlKey || event.metaKey || event.altKey) return;
      const what = {
        ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down",
        "+": "wider", "=": "wider", "-": "tighter", "_": "tighter", Escape: "back",
      }[event.key];
      if (!what) return;
      event.preventDefault();
      this.act(what, event.shiftKey && event.key.startsWith("Arrow"));
    }

    grab(event) {
      if (!this.editing() || event.button !== 0) return;
      event.preventDefault();
      this.stage.focus({ preventScroll: true });
      const shown = this.stage.getBoundingClientRect();
      const [fw, fh] = this.photo.size;
      const unit = fw / shown.width;
      const at = (e) => [(e.clientX - shown.left) * unit, (e.clientY - shown.top) * (fh / shown.height)];
      const from = at(event);
      const [x, y, w, h] = this.crop;
      const reach = 26 * unit;
      const side = (p, low, high) => Math.abs(p - low) <= reach ? -1 : Math.abs(p - high) <= reach ? 1 : 0;
      const sx = side(from[0], x, x + w), sy = side(from[1], y, y + h);
      const turn = sx && sy;
      const fixed = [sx < 0 ? x + w : x, sy < 0 ? y + h : y];
      const follow = (e) => {
        const p = at(e);
        if (turn) {
          const room = [sx < 0 ? fixed[0] : fw - fixed[0], sy < 0 ? fixed[1] : fh - fixed[1]];
          const shape = w / h;
          const wish = Math.max((p[0] - fixed[0]) * sx, (p[1] - fixed[1]) * sy * shape, 1);
          const size = this.sized(wish, room);
          if (!size) return;
          this.crop = [sx < 0 ? fixed[0] - size[0] : fixed[0], sy < 0 ? fixed[1] - size[1] : fixed[1], ...size];
        } else {
          this.crop = [x, y, w, h];
          this.shift(p[0] - from[0], p[1] - from[1]);
        }
        this.draw();
      };
      const release = () => {
        this.stage.removeEventListener("pointermove", follow);
        this.stage.removeEventListener("pointerup", release);
        this.stage.removeEventListener("pointercancel", release);
      };
      this.stage.setPointerCapture(event.pointerId);
      this.stage.addEventListener("pointermove", follow);
      this.stage.addEventListener("pointerup", release);
      this.stage.addEventListener("pointercancel", release);
    }

    draw() {
      for (const mark of this.stage.querySelectorAll(".mark")) mark.setAttribute("d", corners(this.crop));
      this.stage.querySelector(".veil").setAttribute("d", around(this.crop, this.photo.size));
      const back = !this.moved();
      for (const cut of this.cuts) {
        const box = cut.ratio ? middle(this.crop, cut.ratio) : this.crop;
        cut.picture.setAttribute("viewBox", back ? cut.first[0] : box.join(" "));
        if (cut.words && this.subject) {
          const whole = back ? cut.first[1] === "whole" : holds(box, this.subject);
          cut.words.textContent = whole ? "whole" : "cuts the product";
          cut.words.classList.toggle("bad", !whole);
        }
      }
      const [, , w, h] = this.crop;
      const words = [`${w} × ${h} px`];
      if (Math.min(w, h) < this.least) words.push(`fewer than the ${this.least} px this profile needs`);
      if (this.subject && !holds(this.crop, this.subject)) words.push("part of the product is outside");
      this.size.textContent = words.join(", ");
      clearTimeout(this.timer);
      this.timer = setTimeout(() => {
        const cuts = this.cuts.filter((c) => c.ratio && c.words?.textContent)
          .map((c) => `thumbnail ${c.ratio.join(" to ")} ${c.words.textContent}`);
        this.say(`${this.size.textContent}, ${this.crop[0]} from the left, ${this.crop[1]} from the top. ${cuts.join(", ")}`);
      }, 400);
    }

    say(text) {
      clearTimeout(this.timer);
      this.status.textContent = text;
    }
  }

  for (const article of document.querySelectorAll("article[data-photo]")) new Photo(article);
})();
