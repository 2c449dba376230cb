function complete(panel) {
  panel.querySelectorAll(".widget-slider").forEach((slider) => {
    const name = slider.querySelector("label")?.textContent;
    const handle = slider.querySelector(".noUi-handle");
    const box = slider.querySelector(".widget-readout");
    if (!name || !handle || !box) return;
    handle.setAttribute("aria-label", name);
    box.setAttribute("aria-label", name);
    box.setAttribute("role", "textbox");
  });
  panel.querySelectorAll(".paddlebal-numbers").forEach((numbers) => {
    numbers.setAttribute("aria-live", "polite");
  });
}

function render({ el }) {
  el.style.display = "none";
  let observer;
  const timer = setInterval(() => {
    const panel = el.closest(".paddlebal");
    if (!panel) return;
    clearInterval(timer);
    observer = new MutationObserver(() => complete(panel));
    observer.observe(panel, { childList: true, subtree: true });
    complete(panel);
  }, 100);
  return () => {
    clearInterval(timer);
    observer?.disconnect();
  };
}

export default { render };
