// Passkeys: adding one, and signing in with one. The rest of the page works without.
"use strict";

const form = document.getElementById("passkey");
const problem = document.getElementById("passkey-problem");
const options = JSON.parse(document.getElementById("passkey-options").textContent).publicKey;

async function askDevice() {
  if (form.dataset.does === "create") {
    return navigator.credentials.create({ publicKey: PublicKeyCredential.parseCreationOptionsFromJSON(options) });
  }
  return navigator.credentials.get({ publicKey: PublicKeyCredential.parseRequestOptionsFromJSON(options) });
}

async function usePasskey() {
  problem.textContent = "";
  try {
    form.elements.credential.value = JSON.stringify(await askDevice());
  } catch {
    problem.textContent = "Your device gave no passkey. You can try again, or use the other way.";
    return;
  }
  form.requestSubmit();
}

if (form.dataset.does === "get" && !(options.allowCredentials || []).length) {
  form.hidden = true; // this person has none
} else if (window.PublicKeyCredential && PublicKeyCredential.parseCreationOptionsFromJSON) {
  form.hidden = false;
  form.querySelector("button").addEventListener("click", usePasskey);
} else {
  problem.textContent = form.dataset.does === "create" ? "This browser knows no passkeys. Add an app instead." : "";
}
