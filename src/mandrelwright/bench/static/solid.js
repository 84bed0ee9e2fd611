// The mould in its pieces, turned by hand. three.js is copied at set-up; without it there is no view.
import { at } from "./parts.js";
import { send } from "./wire.js";

const TURN = 0.12; // rad per arrow key
const INKS = ["#c9bfa2", "#a9b9b3", "#c2a98c", "#b3aebf"];

export function showSolid(job) {
  const place = at("solid");
  if (!place) return;
  at("show-solid").addEventListener("click", async (event) => {
    event.target.disabled = true;
    event.target.textContent = "cutting the pieces";
    try {
      const [three, told] = await Promise.all([import("/static/copied/three.module.js"), send("/api/pieces", job())]);
      if (told.problems) throw new Error(told.problems[0].limit);
      view(three, place, told.pieces);
    } catch (error) {
      const told = error instanceof TypeError ? "the 3-D view could not be loaded" : error.message; // a browser's words hold addresses
      event.target.textContent = `cannot be shown: ${told}`;
    }
  });
}

function view(three, place, pieces) {
  const scene = new three.Scene();
  const group = new three.Group();
  const made = pieces.map((piece, number) => solid(three, piece, number));
  group.add(...made);
  const box = new three.Box3().setFromObject(group);
  const size = box.getSize(new three.Vector3());
  const middle = box.getCenter(new three.Vector3());
  made.forEach((mesh) => mesh.position.sub(middle));
  scene.add(group, new three.HemisphereLight("#ffffff", "#777766", 1.7));
  const sun = new three.DirectionalLight("#ffffff", 1.6);
  sun.position.set(1, -2, 2);
  scene.add(sun);
  const camera = new three.PerspectiveCamera(30, 1, 1, 20000);
  const renderer = new three.WebGLRenderer({ antialias: true, alpha: true });
  place.replaceChildren(renderer.domElement);
  const state = { far: 2.3 * Math.max(size.z, size.x * 2), apart: 0 };
  group.rotation.set(-1.15, 0, 0.5);

  const paint = () => {
    const { width } = place.getBoundingClientRect();
    const height = Math.max(320, Math.min(width * 0.7, 520));
    renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    renderer.setSize(width, height);
    camera.aspect = width / height;
    camera.position.set(0, 0, state.far);
    camera.updateProjectionMatrix();
    made.forEach((mesh, number) => { mesh.position.z = mesh.userData.z - middle.z + state.apart * number * size.z * 0.12; });
    renderer.render(scene, camera);
  };
  hold(place, group, state, paint);
  addEventListener("resize", paint);
  paint();
}

function solid(three, piece, number) {
  const geometry = new three.BufferGeometry();
  geometry.setAttribute("position", new three.Float32BufferAttribute(piece.corners, 3));
  geometry.setIndex(piece.faces);
  const flat = geometry.toNonIndexed();
  flat.computeVertexNormals();
  const mesh = new three.Mesh(flat, new three.MeshStandardMaterial({ color: INKS[number % INKS.length], roughness: 0.85, flatShading: true }));
  mesh.userData.z = piece.low;
  mesh.position.z = piece.low;
  return mesh;
}

function hold(place, group, state, paint) {
  let from = null;
  place.addEventListener("pointerdown", (event) => { from = event; place.setPointerCapture(event.pointerId); });
  place.addEventListener("pointerup", () => { from = null; });
  place.addEventListener("pointermove", (event) => {
    if (!from) return;
    group.rotation.z += (event.clientX - from.clientX) * 0.01;
    group.rotation.x += (event.clientY - from.clientY) * 0.01;
    from = event;
    paint();
  });
  place.addEventListener("keydown", (event) => {
    const does = {
      ArrowLeft: () => { group.rotation.z -= TURN; }, ArrowRight: () => { group.rotation.z += TURN; },
      ArrowUp: () => { group.rotation.x -= TURN; }, ArrowDown: () => { group.rotation.x += TURN; },
      "+": () => { state.far *= 0.9; }, "-": () => { state.far /= 0.9; }, x: () => { state.apart = 1 - state.apart; }, X: () => { state.apart = 1 - state.apart; },
    }[event.key];
    if (!does) return;
    event.preventDefault();
    does();
    paint();
  });
}
