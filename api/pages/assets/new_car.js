// The pages of a new car, made quicker: price and first day follow the ticks, and a photograph is shown before it is sent.
// Everything works without this file too.
"use strict";
(() => {
  const work = document.querySelector("form.work");
  const follow = document.getElementById("follow");
  if (work && follow) {
    let asked = 0;
    let waiting;
    const ask = async () => {
      const mine = ++asked;
      const fields = new FormData(work);
      for (const name of ["code", "key", "version"]) fields.delete(name);
      const query = new URLSearchParams(fields);
      query.set("look", "yes");
      follow.setAttribute("aria-busy", "true");
      try {
        const answer = await fetch(`${location.pathname}?${query}`, { headers: { accept: "text/html" } });
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        const found = page.getElementById("follow");
        if (mine !== asked) return;
        // Whoever is no longer signed in gets the page to sign in on; the button below keeps what was chosen.
        if (answer.ok && found) follow.replaceChildren(...found.childNodes);
      } catch {
        // The button below the price asks for it as well.
      } finally {
        if (mine === asked) follow.removeAttribute("aria-busy");
      }
    };
    // Several ticks in a row are one question.
    const soon = () => { clearTimeout(waiting); waiting = setTimeout(ask, 150); };
    work.addEventListener("change", soon);
  }

  const photo = document.getElementById("photo");
  if (photo) {
    const picture = document.createElement("img");
    picture.className = "chosen-photo";
    picture.alt = "The photograph that you chose";
    photo.addEventListener("change", () => {
      if (picture.src) URL.revokeObjectURL(picture.src);
      picture.remove();
      const [file] = photo.files;
      if (!file) return;
      picture.src = URL.createObjectURL(file);
      photo.after(picture);
    });
  }

  const faults = document.querySelector(".care[role=alert]");
  if (faults) faults.focus();
})();
