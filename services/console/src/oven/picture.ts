const MARGIN = 16;
const LINE = 22;

/** The charts under one another as a PNG, with a title, drawn in this browser. */
export async function drawPicture(charts: HTMLElement, title: string): Promise<Blob> {
  const panels = [...charts.querySelectorAll("figure")].map((figure) => ({
    caption: figure.querySelector("figcaption")?.textContent ?? "",
    canvas: figure.querySelector("canvas"),
  }));
  const ratio = devicePixelRatio;
  const height = panels.reduce((sum, { canvas }) => sum + (canvas?.height ?? 0) + LINE * ratio, (MARGIN * 2 + LINE) * ratio);
  const width = Math.max(...panels.map(({ canvas }) => canvas?.width ?? 0)) + MARGIN * 2 * ratio;
  const picture = document.createElement("canvas");
  picture.width = width;
  picture.height = height;
  const context = picture.getContext("2d");
  if (context === null) throw new Error("this browser cannot draw");

  const style = getComputedStyle(charts.closest(".panel") ?? charts);
  context.fillStyle = style.backgroundColor;
  context.fillRect(0, 0, width, height);
  context.fillStyle = style.color;
  let y = (MARGIN + 14) * ratio;
  context.font = `600 ${15 * ratio}px system-ui, sans-serif`;
  context.fillText(title, MARGIN * ratio, y);
  context.font = `${13 * ratio}px system-ui, sans-serif`;
  for (const { caption, canvas } of panels) {
    y += LINE * ratio;
    context.fillText(caption, MARGIN * ratio, y);
    if (canvas !== null) context.drawImage(canvas, MARGIN * ratio, y + 4 * ratio);
    y += canvas?.height ?? 0;
  }
  return new Promise((resolve, reject) => {
    picture.toBlob((blob) => (blob === null ? reject(new Error("the picture could not be made")) : resolve(blob)), "image/png");
  });
}
