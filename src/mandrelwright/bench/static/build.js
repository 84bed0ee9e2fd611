// A build in a process of its own: progress, cancel, one zip.
import { at } from "./parts.js";
import { get, send } from "./wire.js";

const EVERY = 350; // ms between looks

export function buildable(job) {
  let token = null;
  const ended = () => {
    token = null;
    at("cancel").hidden = true;
    at("build").querySelector(".main").disabled = false;
  };

  at("build").addEventListener("submit", async (event) => {
    event.preventDefault();
    at("fetch").hidden = true;
    at("progress").hidden = false;
    at("bar").value = 0;
    at("building").textContent = "starting";
    at("build").querySelector(".main").disabled = true;
    try {
      token = (await send("/api/build", { ...job(), date: at("date").value })).build;
      at("cancel").hidden = false;
      await follow(token);
    } catch (error) {
      at("building").textContent = `${error.message}.`;
      ended();
    }
  });

  at("cancel").addEventListener("click", async () => {
    const own = token;
    ended();
    at("building").textContent = "cancelled; nothing was written";
    await fetch(`/api/build/${own}`, { method: "DELETE", headers: { "content-type": "application/json" } });
  });

  async function follow(own) {
    while (token === own) {
      const told = await get(`/api/build/${own}`);
      if (token !== own) return;
      at("bar").value = told.share;
      at("building").textContent = told.files.at(-1) || "planning";
      if (told.ended) return finish(own, told);
      await new Promise((resolve) => setTimeout(resolve, EVERY));
    }
  }

  function finish(own, told) {
    ended();
    at("building").textContent = told.ended === "done" ? `${told.files.length} files. ${told.said}` : told.said;
    if (told.ended !== "done") return;
    at("zip").href = `/api/build/${own}/zip`;
    at("fetch").hidden = false;
  }
}
