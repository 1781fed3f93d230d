"""What the page itself does for a panel, in the browser: its look, the names of its handles, the shadow of what was."""

STYLE = """<style>
.kit-body, .kit-foot {flex-flow: row wrap; gap: 0 1em}
.kit-controls {flex: 1 1 290px; max-width: 480px; min-width: 0}
.kit-shown {flex: 3 1 430px; min-width: 0}
.kit-panel .widget-html-content {line-height: 1.35}
.kit-picture img {max-width: 100%; height: auto; max-height: 56vh; object-fit: contain; object-position: left top}
.kit-wide .kit-body {flex-flow: column nowrap}
.kit-wide .kit-controls {flex: none; max-width: none; flex-flow: row wrap; gap: 0 1.5em; align-items: flex-start}
.kit-wide .kit-controls > .kit-slider {flex: 1 1 230px; max-width: 330px}
.kit-wide .kit-controls > .widget-select, .kit-wide .kit-controls > .widget-dropdown {flex: 0 1 250px}
.kit-wide .kit-foot {flex: 1 1 100%}
.kit-wide .kit-shown {flex: none}
.kit-picture figure {position: relative; margin: 0; width: fit-content; max-width: 100%}
.kit-picture .kit-ghost {position: absolute; left: 0; top: 0; opacity: .2; mix-blend-mode: multiply}
.kit-picture .kit-ghost {pointer-events: none}
.kit-stale img {opacity: .4; outline: 2px dashed #000; outline-offset: -2px}
.kit-slider .widget-text label {flex: 1 1 auto; height: auto; align-self: center; text-align: left; white-space: normal}
.kit-slider .widget-text label, .kit-panel button {line-height: 1.2}
.kit-slider .widget-text input {flex: 0 0 5em; width: 5em; min-width: 0}
.kit-panel button {flex: none; height: auto; white-space: normal; min-height: var(--jp-widgets-inline-height)}
.kit-slider .widget-html-content > div {margin: 0 calc(var(--jp-widgets-slider-handle-size) / 2)}
.kit-slider .kit-strip {margin-top: -6px !important}
.kit-strip i {display: block; height: 4px; border: 1px solid #000}
.kit-strip i {background: repeating-linear-gradient(45deg, #000 0 1px, #fff 1px 4px)}
.kit-panel .kit-made {font-size: 14px; line-height: 1; text-align: right}
.kit-panel :focus-visible {outline: 3px solid #0072B2; outline-offset: 2px}
.kit-panel {--jp-widgets-font-size: var(--jp-content-font-size1, 14px)}
@media (any-pointer: coarse) {
  .kit-panel {--jp-widgets-inline-height: 36px; --jp-widgets-slider-handle-size: 28px}
  .kit-panel input[type=checkbox] {width: 24px; height: 24px}
}
.kit-large {--jp-widgets-font-size: 18px; --jp-widgets-inline-height: 36px; --jp-widgets-slider-handle-size: 26px}
.kit-large .kit-picture img {width: 100%; max-height: 70vh}
</style>"""

# What the widgets' own front end leaves out, done in the page whenever a picture has come: a slider's handle is given
# the name that stands above it and speaks the value of its box, in the unit shown; a reset button says of what it is;
# words that change are read out. Keys pressed on a control stay with it: JupyterLab would take an arrow for a step to
# the next cell, and x for cutting one.
LINK = """(function link(img, tries) {
  const panel = img.closest('.kit-panel'), sliders = panel ? [...panel.querySelectorAll('.kit-slider')] : [];
  const whole = s => s.querySelector('label') && s.querySelector('.noUi-handle');
  const there = panel && sliders.length == SLIDERS && sliders.every(whole);
  if (!there) return tries && setTimeout(link, 100, img, tries - 1);
  const all = (css, name, value) => panel.querySelectorAll(css).forEach(part => part.setAttribute(name, value));
  all('button, select, input, .noUi-handle', 'data-lm-suppress-shortcuts', '');
  all('.kit-live > .widget-html-content', 'aria-live', 'polite');
  for (const s of sliders) {
    const label = s.querySelector('label'), button = s.querySelector('button');
    const handle = s.querySelector('.noUi-handle'), box = s.querySelector('input');
    label.id = label.htmlFor + '-name';
    handle.setAttribute('aria-labelledby', label.id);
    button.setAttribute('aria-label', button.title);
    const say = () => {
      const text = [box.value, label.textContent.split(' / ')[1]].filter(Boolean).join(' ');
      if (handle.getAttribute('aria-valuetext') != text) handle.setAttribute('aria-valuetext', text);
    };
    if (!handle.dataset.says) {
      handle.dataset.says = 'kit';
      new MutationObserver(say).observe(handle, {attributes: true, attributeFilter: ['aria-valuetext']});
      const written = {childList: true, subtree: true, characterData: true};
      new MutationObserver(() => setTimeout(say, 100)).observe(label, written);
    }
    say();
  }
})(this, 100)"""

# The setting before, faint under the present one: the picture that stood still before the hand began to move. Done in
# the page, where that picture is already.
GHOST = """(function ghost(img) {
  const panel = img.closest('.kit-panel'), part = img.dataset.part;
  if (!panel) return;
  const all = panel.kitSeen = panel.kitSeen || {}, seen = all[part] = all[part] || {};
  if (seen.src != img.src) {
    if (seen.src && performance.now() - seen.at > 1500) seen.ghost = seen.src;
    seen.src = img.src;
    seen.at = performance.now();
  }
  if (!seen.ghost || seen.ghost == img.src) return;
  const under = document.createElement('img');
  under.src = seen.ghost;
  under.alt = '';
  under.className = 'kit-ghost';
  under.width = img.width;
  under.style.height = img.clientHeight + 'px';
  img.parentNode.append(under);
})(this)"""
