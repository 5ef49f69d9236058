/** Puts all plots of an element on one picture with its title, and offers it as a file. */
export function savePicture(element: HTMLElement, title: string, fileName: string): void {
  const canvases = [...element.querySelectorAll('canvas')]
  const captions = [...element.querySelectorAll('figcaption')].map((caption) => caption.textContent ?? '')
  if (canvases.length === 0) return
  const ratio = devicePixelRatio
  const margin = 16 * ratio
  const line = 24 * ratio
  const picture = document.createElement('canvas')
  picture.width = Math.max(...canvases.map(({ width }) => width)) + 2 * margin
  picture.height = canvases.reduce((sum, { height }) => sum + height + line, line + 2 * margin)
  const context = picture.getContext('2d')
  if (context === null) return
  const style = getComputedStyle(element)
  context.fillStyle = style.getPropertyValue('--card').trim()
  context.fillRect(0, 0, picture.width, picture.height)
  context.fillStyle = style.getPropertyValue('--ink').trim()
  context.font = `${16 * ratio}px system-ui, sans-serif`
  let y = margin + line
  context.fillText(title, margin, y - line / 3)
  context.font = `${12 * ratio}px system-ui, sans-serif`
  canvases.forEach((canvas, index) => {
    context.fillText(captions[index] ?? '', margin, y + line / 2)
    context.drawImage(canvas, margin, y + line)
    y += canvas.height + line
  })
  picture.toBlob((blob) => {
    if (blob === null) return
    const link = document.createElement('a')
    link.href = URL.createObjectURL(blob)
    link.download = fileName
    link.click()
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000)
  })
}
