import "./css/tokens.css";
import "./css/base.css";
import "./css/screens.css";
import "./css/line.css";
import "./css/case.css";
import "./css/trace.css";
import "./css/sweeps.css";
import "./css/study.css";
import "./css/gauging.css";
import "./css/register.css";
import "./css/look.css";
import "./css/print.css";
import { mount } from "svelte";
import App from "./App.svelte";
import { live } from "./live.svelte";

const target = document.getElementById("page");
if (target) mount(App, { target });
live.start();
