// The tape: what the microphone gives, as it comes, on the thread of sound.

class Tape extends AudioWorkletProcessor {
  process(inputs) {
    const sound = inputs[0]?.[0];
    if (sound) this.port.postMessage(sound.slice(0));
    return true;
  }
}

registerProcessor("tape", Tape);
