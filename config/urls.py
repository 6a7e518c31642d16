"""Root URLs: signing in, the app shell, and both apps."""

from django.conf import settings
from django.contrib.auth import views as auth_views
from django.urls import include, path

from config import look, pwa
from config.second_factor import SignIn, sign_in_code

urlpatterns = [
    path("sign-in/", SignIn.as_view(), name="login"),
    path("sign-in/code/", sign_in_code, name="sign_in_code"),
    path("sign-out/", auth_views.LogoutView.as_view(), name="logout"),
    path("me/look/", look.choose, name="look"),
    *pwa.urlpatterns,
    path("", include("config.offline.urls")),
    path("backups/", include("config.backup.urls")),
    path("", include("kilnruns.urls")),
    path("", include("yard.urls")),
]

if settings.DEBUG or settings.TESTING:
    from django.contrib.staticfiles.urls import staticfiles_urlpatterns

    urlpatterns += staticfiles_urlpatterns()
