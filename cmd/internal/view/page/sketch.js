export function drawSketch() {}
