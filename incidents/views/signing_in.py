from django.contrib.auth import views
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import AuthenticationForm
from django.utils import timezone
from django.utils.decorators import method_decorator

from incidents.forms.fields import PlainForm
from screening.verdicts import CAUTION


class SignInForm(AuthenticationForm):
    """Name and password, with the words of the job."""

    use_required_attribute = False
    error_messages = {
        "invalid_login": "Name and password do not go together. Both tell capitals apart.",
        "inactive": "This person may no longer sign in.",
    }
    error_links = PlainForm.error_links


@method_decorator(login_not_required, name="dispatch")
class SignIn(views.LoginView):
    template_name = "incident/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True
    extra_context = {"caution": CAUTION}

    def get_context_data(self, **kwargs):  # type: ignore[no-untyped-def]
        return super().get_context_data(**kwargs) | {"now": timezone.now()}

    def form_invalid(self, form):  # type: ignore[no-untyped-def]
        response = super().form_invalid(form)
        response.status_code = 422
        return response
