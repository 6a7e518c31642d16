// Makes a photo small enough for a poor connection. Drawing it anew also leaves out where it was taken.

const LONGEST_PX = 1600;
const QUALITY = 0.8;

// A file as the outbox keeps it. What is no picture, or one that this browser can't read, stays as it is.
export async function packed(field, file) {
  const small = file.type.startsWith("image/") ? await shrunk(file).catch(() => null) : null;
  const name = small ? file.name.replace(/(\.\w+)?$/, ".jpg") : file.name;
  const bytes = await (small ?? file).arrayBuffer();
  return { field, name, type: (small ?? file).type, bytes };
}

async function shrunk(file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const scale = Math.min(1, LONGEST_PX / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * scale));
  canvas.height = Math.max(1, Math.round(picture.height * scale));
  const brush = canvas.getContext("2d");
  brush.fillStyle = "#fff"; // JPEG has no see-through
  brush.fillRect(0, 0, canvas.width, canvas.height);
  brush.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  return new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY)); // null where it fails
}
