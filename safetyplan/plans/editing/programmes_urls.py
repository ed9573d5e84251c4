"""Addresses of the editor: programmes, verification, validation and procedures."""

from django.urls import path

from safetyplan.plans.editing import evidence, programmes

PLAN = "<slug:slug>/plan"

urlpatterns = [
    path(f"{PLAN}/programmes/", programmes.plan_programmes, name="plan_programmes"),
    path(
        f"{PLAN}/programmes/prerequisites/add/",
        programmes.plan_prerequisite_add,
        name="plan_prerequisite_add",
    ),
    path(
        f"{PLAN}/programmes/prerequisites/<str:code>/",
        programmes.plan_prerequisite,
        name="plan_prerequisite",
    ),
    path(
        f"{PLAN}/programmes/prerequisites/<str:code>/remove/",
        programmes.plan_prerequisite_remove,
        name="plan_prerequisite_remove",
    ),
    path(
        f"{PLAN}/programmes/verifications/add/",
        programmes.plan_verification_add,
        name="plan_verification_add",
    ),
    path(
        f"{PLAN}/programmes/verifications/<str:code>/",
        programmes.plan_verification,
        name="plan_verification",
    ),
    path(
        f"{PLAN}/programmes/verifications/<str:code>/remove/",
        programmes.plan_verification_remove,
        name="plan_verification_remove",
    ),
    path(f"{PLAN}/programmes/validations/add/", programmes.plan_validation_add, name="plan_validation_add"),
    path(f"{PLAN}/programmes/validations/<str:code>/", programmes.plan_validation, name="plan_validation"),
    path(
        f"{PLAN}/programmes/validations/<str:code>/remove/",
        programmes.plan_validation_remove,
        name="plan_validation_remove",
    ),
    path(f"{PLAN}/programmes/recall/", programmes.plan_recall, name="plan_recall"),
    path(f"{PLAN}/programmes/positive/", programmes.plan_positive, name="plan_positive"),
    path(f"{PLAN}/evidence/<str:sha256>/", evidence.plan_evidence, name="plan_evidence"),
]
