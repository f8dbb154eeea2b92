import { mount } from "svelte";

import "./app.css";
import App from "./App.svelte";
import { settings } from "./state/settings.svelte";

settings.apply();
const target = document.getElementById("page");
if (target) mount(App, { target });
