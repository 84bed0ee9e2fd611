import { at } from "./parts.js";
import { send } from "./wire.js";

async function enter(code) {
  try {
    await send("/enter", { code });
    history.replaceState(null, "", "/enter");
    location.assign("/");
  } catch (error) {
    at("said").textContent = `${error.message[0].toUpperCase()}${error.message.slice(1)}.`;
  }
}

at("enter").addEventListener("submit", (event) => {
  event.preventDefault();
  enter(at("code").value);
});
if (location.hash.length > 1) enter(location.hash.slice(1));
