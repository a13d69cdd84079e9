"""Routes by name."""

from __future__ import annotations

from django.contrib import admin
from django.contrib.auth.views import LoginView, LogoutView
from django.urls import include, path

from jobs.views import (
    crews,
    first_visit,
    homeowner,
    items,
    jobs,
    library,
    plans,
    setup,
    sheet,
    solving,
    tomorrow,
)

urlpatterns = [
    path("", tomorrow.tomorrow, name="tomorrow"),
    path("set-up/", first_visit.first_visit, name="first-visit"),
    path("sign-in/", LoginView.as_view(template_name="sign_in.html"), name="sign-in"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("jobs/", jobs.jobs, name="jobs"),
    path("jobs/new/", setup.new_job, name="new-job"),
    path("jobs/import/", setup.import_job, name="import-job"),
    path("rough/", setup.rough, name="rough"),
    path("jobs/<slug:slug>/", jobs.job, name="job"),
    path("jobs/<slug:slug>/yard/", setup.yard, name="yard"),
    path("jobs/<slug:slug>/export.toml", setup.export, name="export-job"),
    path("jobs/<slug:slug>/finish/", jobs.first_finish, name="first-finish"),
    path("jobs/<slug:slug>/share/", jobs.share, name="share"),
    path("jobs/<slug:slug>/sequence/", sheet.sheet, name="sheet"),
    path("jobs/<slug:slug>/record/", jobs.record, name="record"),
    path("jobs/<slug:slug>/activities/", jobs.activities, name="activities"),
    path("jobs/<slug:slug>/activities/<slug:uid>/", sheet.activity, name="activity"),
    path("jobs/<slug:slug>/numbers/", library.numbers, name="numbers"),
    path("jobs/<slug:slug>/numbers/take/", library.take_numbers, name="take-numbers"),
    path("jobs/<slug:slug>/build/", items.new_item, name="new-item"),
    path("jobs/<slug:slug>/build/<slug:uid>/", items.item, name="item"),
    path("jobs/<slug:slug>/build/<slug:uid>/remove/", items.remove, name="remove-item"),
    path("library/", library.library, name="library"),
    path("library/waits/<slug:key>/", library.wait, name="wait"),
    path("library/waits/<slug:key>/own/", library.own_wait, name="own-wait"),
    path("library/own/<int:pk>/reset/", library.reset_own, name="reset-own"),
    path("library/<slug:key>/", library.template, name="template"),
    path("library/<slug:key>/own/", library.own_template, name="own-template"),
    path("plan/", plans.plan, name="plan"),
    path("plan/solve/", solving.solve, name="solve"),
    path("plan/solve/ask/", solving.ask_solve, name="ask-solve"),
    path("plan/solve/<int:pk>/stop/", solving.stop_solve, name="stop-solve"),
    path("plan/make/", plans.make_plan, name="make-plan"),
    path("plan/<int:number>/publish/", plans.publish, name="publish-plan"),
    path("crews/", crews.crews, name="crews"),
    path("crews/new/", crews.edit_crew, name="new-crew"),
    path("crews/days-off/", crews.add_days_off, name="add-days-off"),
    path("crews/days-off/<int:pk>/remove/", crews.remove_days_off, name="remove-days-off"),
    path("crews/<slug:slug>/", crews.edit_crew, name="edit-crew"),
    path("machines/", crews.machines, name="machines"),
    path("machines/new/", crews.edit_machine, name="new-machine"),
    path("machines/<slug:slug>/", crews.edit_machine, name="edit-machine"),
    path("h/<slug:token>/", homeowner.homeowner, name="homeowner"),
    path("support/", admin.site.urls),
    path("", include("crews.urls")),
]
