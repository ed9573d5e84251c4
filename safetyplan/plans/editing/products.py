"""Products of the draft: the list, the description of one, one more, one less."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean, whole_number
from safetyplan.plans.document import Product
from safetyplan.plans.editing.codes import as_lines, lines_of
from safetyplan.plans.editing.frame import Data, Work, begin, item_of, refused_status, save, show, work_on
from safetyplan.plans.editing.places import address
from safetyplan.plans.editing.product_forms import TEXTS, AddProductForm, ProductForm
from safetyplan.plans.editing.products_data import named, naming_product, new_product
from safetyplan.plans.editing.removing import PART, Removal, remove

READ_WRITE = ["GET", "HEAD", "POST"]
MOST_DAYS = 3650
OF_THE_FLOW = ("P020", "P046")


def product_of(work: Work, code: str) -> Product:
    """Find a product of the draft; 404 when it is not there."""
    found = next((product for product in work.plan.products if product.code == code), None)
    if found is None:
        raise Http404
    return found


@login_required
@require_safe
def plan_products(request: HttpRequest, slug: str) -> HttpResponse:
    """List the products of the draft."""
    work = work_on(request, slug)
    listed = []
    for product in work.plan.products:
        names = ("plan_product", "plan_steps", "plan_events", "plan_product_remove")
        links = {name: address(slug, name, product.code) for name in names}
        listed.append({"product": product, "links": links, "findings": work.findings(product.code)})
    return show(work, "plans/editing/products.html", PART, products=listed)


@login_required
@require_http_methods(READ_WRITE)
def plan_product_add(request: HttpRequest, slug: str) -> HttpResponse:
    """Add a product of which nothing is said yet."""
    work = work_on(request, slug)
    if request.method != "POST":
        return show(work, "plans/editing/product_add.html", PART, form=begin(work, AddProductForm))
    form = AddProductForm(request.POST)

    def change(data: Data) -> None:
        name, code = named(form.cleaned_data, [product["code"] for product in data["products"]])
        data["products"].append(new_product(code, name))

    done = _("The product is in the draft. Describe it, then write its steps.")
    answer = save(work, form, change, to=(PART,), done=done)
    return answer or show(
        work, "plans/editing/product_add.html", PART, form=form, status=refused_status(form)
    )


@login_required
@require_http_methods(READ_WRITE)
def plan_product(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Show the description of a product, or save it."""
    work = work_on(request, slug)
    product = product_of(work, code)
    if request.method != "POST":
        return _product(work, product, begin(work, _form_of(product), **_initial(product)))
    form = ProductForm(request.POST, family=product.family)

    def change(data: Data) -> None:
        item_of(data["products"], code).update(_described(form.cleaned_data))

    answer = save(work, form, change, to=(PART,), done=_("The description is saved in the draft."))
    return answer or _product(work, product, form, refused_status(form))


def _form_of(product: Product) -> Any:
    return lambda initial: ProductForm(initial=initial, family=product.family)


def _product(work: Work, product: Product, form: ProductForm, status: int = 200) -> HttpResponse:
    findings = [one for one in work.findings(product.code) if one.id not in OF_THE_FLOW]
    return show(
        work,
        "plans/editing/product.html",
        PART,
        product=product,
        form=form,
        findings=findings,
        status=status,
    )


def _initial(product: Product) -> Data:
    initial: Data = {name: getattr(product, name) for name in (*TEXTS, "exposed", "rich")}
    initial["allergens"] = as_lines(product.allergens)
    initial["shelf_life_days"] = str(product.shelf_life_days)
    return initial


def _described(typed: Data) -> Data:
    """Give the keys of the document for what was typed."""
    described: Data = {name: clean(typed[name], most=1000, part=name) for name in TEXTS}
    if not described["name"]:
        raise BadInput(_("Give the product its name."), part="name")
    days = typed["shelf_life_days"].strip()
    described["shelf_life_days"] = whole_number(days, part="shelf_life_days") if days else 0
    if described["shelf_life_days"] > MOST_DAYS:
        raise BadInput(_("More than ten years: give the shelf life in days."), part="shelf_life_days")
    described["allergens"] = [
        clean(line, most=100, part="allergens") for line in lines_of(typed["allergens"])
    ]
    return described | {"exposed": typed["exposed"], "rich": typed["rich"]}


@login_required
@require_http_methods(READ_WRITE)
def plan_product_remove(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Ask before a product is removed, or remove it; not while hazards or controls name it."""
    work = work_on(request, slug)
    product = product_of(work, code)

    def take_out(data: Data) -> None:
        data["products"] = [item for item in data["products"] if item["code"] != code]

    removal = Removal(
        name=product.name,
        question=_("Its description, its flow and its events leave the draft. Approved versions keep them."),
        naming=lambda plan: naming_product(plan, code),
        take_out=take_out,
        to=(PART,),
        done=_("The product is out of the draft."),
    )
    return remove(work, removal)
