"""Addresses of our own measuring."""

from django.urls import path

import inventory.converters  # noqa: F401  # registers <study:…>
from inventory.web.own import budgets, hub, studies, study_bench, study_plan

urlpatterns = [
    path("our-measuring/", hub.our_measuring, name="our-measuring"),
    path("studies/", studies.study_list, name="studies"),
    path("studies/new/", study_plan.study_new, name="study-new"),
    path("studies/<study:number>/", studies.study_page, name="study"),
    path("studies/<study:number>/finish/", studies.study_finish, name="study-finish"),
    path("studies/<study:number>/give-up/", studies.study_give_up, name="study-give-up"),
    path("studies/<study:number>/effect/", studies.study_effect, name="study-effect"),
    path("studies/<study:number>/bench/", study_bench.study_bench, name="study-bench"),
    path("studies/<study:number>/turns/<int:pk>/", study_bench.study_turn, name="study-turn"),
    path(
        "studies/<study:number>/turns/<int:pk>/readings/", study_bench.study_readings, name="study-readings"
    ),
    path("styles/<slug:code>/points/<int:pk>/budget/", budgets.point_budget, name="point-budget"),
    path("points/<int:pk>/error/", budgets.point_error, name="point-error"),
]
