// The code that a camera read stands behind the address; it never goes over the wire before the button is pressed.
const code = decodeURIComponent(location.hash.slice(1));
const field = document.getElementById("code");
if (field && /^[A-Z0-9]{8}$/.test(code)) {
  field.value = code;
  history.replaceState(null, "", location.pathname);
  document.getElementById("name")?.focus();
}
