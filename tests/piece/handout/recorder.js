// Records what a page sends to the loudspeaker, with the frame of each block, and where its cursor stands meanwhile.
window.heard = { blocks: [], cursor: [] };
const TAP = `registerProcessor("tap", class extends AudioWorkletProcessor {
  process([[channel]]) {
    if (channel) this.port.postMessage({ frame: currentFrame, samples: channel.slice() });
    return true;
  }
})`;
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (target, ...more) {
  if (target === this.context.destination) {
    window.heard.context = this.context;
    this.context.audioWorklet.addModule(`data:text/javascript,${encodeURIComponent(TAP)}`).then(() => {
      const tap = new AudioWorkletNode(this.context, "tap");
      tap.port.onmessage = ({ data }) => window.heard.blocks.push(data);
      connect.call(this, tap);
      connect.call(tap, target);
    });
  }
  return connect.call(this, target, ...more);
};
const frame = window.requestAnimationFrame.bind(window);
window.requestAnimationFrame = (draw) => frame((now) => {
  draw(now);
  const cursor = [...document.querySelectorAll(".cursor")].find((each) => !each.hidden), { context } = window.heard;
  if (!cursor) return;
  const phrase = cursor.closest("section").id, time = context.currentTime - (context.outputLatency || 0);
  window.heard.cursor.push([time, phrase, Number(cursor.dataset.system), parseFloat(cursor.style.left)]);
});
window.recorded = () => {
  const { blocks, context } = window.heard, first = blocks[0].frame, last = blocks[blocks.length - 1];
  const all = new Float32Array(last.frame + last.samples.length - first);
  for (const { frame, samples } of blocks) all.set(samples, frame - first);
  let text = "";
  for (const byte of new Uint8Array(all.buffer)) text += String.fromCharCode(byte);
  return { first, rate: context.sampleRate, data: btoa(text) };
};
// Settles when so many seconds have been heard since the first sound.
window.playedFor = (seconds) => new Promise((done) => {
  const timer = setInterval(() => {
    const { blocks, context } = window.heard;
    const first = blocks.find(({ samples }) => samples.some((each) => Math.abs(each) > 0.01));
    if (first && blocks[blocks.length - 1].frame - first.frame > seconds * context.sampleRate) done(clearInterval(timer));
  }, 50);
});
