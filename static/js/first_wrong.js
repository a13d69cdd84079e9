// Leads who sent something wrong to the first thing that is wrong, also where it is folded away.

const wrong = document.querySelector("[aria-invalid=true], form p.wrong, .wrong[role=alert]");

if (wrong && document.activeElement === document.body) {
  for (let fold = wrong.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  if (wrong.matches("p")) wrong.tabIndex = -1;
  wrong.focus();
}
