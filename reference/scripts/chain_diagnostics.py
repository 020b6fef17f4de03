"""R-hat and effective sample sizes of chains by ArviZ: writes ../fit/chains.csv and ../fit/chain_diagnostics.csv.

    pip install numpy==2.4.6 arviz==0.23.4
    python chain_diagnostics.py
"""
import csv
import pathlib
import warnings

warnings.filterwarnings("ignore")
import arviz
import numpy as np

here = pathlib.Path(__file__).parent.parent
random = np.random.default_rng(20260315)


def autoregressive(chains, draws, phi):
    x = np.zeros((chains, draws))
    x[:, 0] = random.standard_normal(chains)
    for i in range(1, draws):
        x[:, i] = phi * x[:, i - 1] + np.sqrt(1 - phi * phi) * random.standard_normal(chains)
    return x


cases = {
    "independent": random.standard_normal((4, 200)),
    "sluggish": autoregressive(4, 251, 0.8),
    "alternating": autoregressive(2, 150, -0.6),
    "one_chain_elsewhere": autoregressive(4, 200, 0.5) + np.array([0, 0, 0, 1.5])[:, None],
    "one_chain_wider": autoregressive(3, 160, 0.3) * np.array([1, 1, 3])[:, None],
    "heavy_tails": random.standard_cauchy((4, 120)),
    "ties": np.round(autoregressive(4, 180, 0.6)),
    "drifting": autoregressive(4, 200, 0.4) + np.linspace(0, 2, 200)[None, :],
}
with (here / "fit" / "chains.csv").open("w", newline="") as a, (here / "fit" / "chain_diagnostics.csv").open("w", newline="") as b:
    wa, wb = csv.writer(a), csv.writer(b)
    wa.writerow(["case", "chain", "draws"])
    wb.writerow(["case", "r_hat", "ess_bulk", "ess_tail", "source", "basis"])
    for name, x in cases.items():
        x = np.round(x, 5)
        for k, row in enumerate(x):
            wa.writerow([name, k, " ".join(f"{v:g}" for v in row)])
        r, bulk, tail = (float(f) for f in (arviz.rhat(x, method="rank"), arviz.ess(x, method="bulk"), arviz.ess(x, method="tail")))
        print(name, r, bulk, tail)
        wb.writerow([name, f"{r:.10g}", f"{bulk:.10g}", f"{tail:.10g}", f"arviz {arviz.__version__}, numpy {np.__version__}", "COMPUTED"])
