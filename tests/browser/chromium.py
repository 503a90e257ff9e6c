"""How every test starts Chromium: the one on the PATH, with nothing it does not need."""

import shutil

# The first two draw the list under an address bar that nobody sees: two pages of its own
# for each window, which cost more than most of ours. The others are what Playwright asks
# for itself; the browser heeds the last list alone.
NOT_NEEDED = (
    "WebUIOmniboxPopup",
    "WebUIOmniboxAimPopup",
    "AimEnabled",
    "AvoidCorsURLLoaderRestartOnRedirect",
    "AvoidUnnecessaryBeforeUnloadCheckSync",
    "DestroyProfileOnBrowserClose",
    "HttpsFirstBalancedModeAutoEnable",
    "HttpsUpgrades",
    "LensOverlay",
    "MediaRouter",
    "NetworkTimeServiceQuerying",
    "OptimizationHints",
    "PaintHolding",
    "PreconnectToSearch",
    "ThirdPartyStoragePartitioning",
)
CHROMIUM = {
    "executable_path": shutil.which("chromium"),
    "args": [
        "--no-sandbox",
        "--disable-dev-shm-usage",
        f"--disable-features={','.join(NOT_NEEDED)}",
    ],
}
