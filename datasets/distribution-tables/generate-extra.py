"""Further check values by mpmath at 50 digits, from the definitions: python3 generate-extra.py > extra.csv

Columns: quantity, arguments separated by spaces, value with 20 digits.
"""
import mpmath as mp

mp.mp.dps = 50
M = mp.mpf


def show(name, args, value):
    print(f"{name},{' '.join(args)},{mp.nstr(value, 20)}")


def noncentral_t_upper(t, df, delta):
    c = 2 * (df / 2) ** (df / 2) / mp.gamma(df / 2)
    f = lambda s: c * s ** (df - 1) * mp.exp(-df * s * s / 2) * mp.erfc((t * s - delta) / mp.sqrt(2)) / 2
    knots = sorted({M(0), *(M(k) / 20 for k in range(1, 41)), *(M(k) / 4 for k in range(9, 40)), M(12), M(20), M(40)})
    return mp.quad(f, knots)


def noncentral_chi2_upper(x, df, lam):
    total = M(0)
    for j in range(0, int(lam / 2 + 60 * mp.sqrt(lam / 2 + 1)) + 200):
        total += mp.exp(-lam / 2 + j * mp.log(lam / 2) - mp.loggamma(j + 1)) * mp.gammainc(df / 2 + j, x / 2, mp.inf, regularized=True)
    return total


print("quantity,arguments,value")
for x in ["1e-3", "0.1", "0.4999", "0.5", "0.75", "1.25", "1.4616321449683622", "2.5", "3.7", "6.9", "9.99", "10", "33.3", "1234.5", "1e6"]:
    show("log_gamma", [x], mp.loggamma(M(x)))
    show("digamma", [x], mp.digamma(M(x)))
    show("trigamma", [x], mp.psi(1, M(x)))
for t, df, delta in [("3", "3", "-12"), ("3", "6", "-12"), ("3", "20", "-12"), ("3", "60", "-12"), ("4", "2.5", "-5"), ("45", "299", "40"), ("38", "299", "40"), ("8", "1", "1"), ("-2", "4", "3"), ("0.5", "0.7", "-2"), ("6", "3", "-1"), ("1", "30", "-6")]:
    show("noncentral_t_upper", [t, df, delta], noncentral_t_upper(M(t), M(df), M(delta)))
for x, df, lam in [("1500", "3", "1000"), ("700", "3", "1000"), ("400", "20", "100"), ("60", "2.5", "1e-3")]:
    show("noncentral_chi_squared_upper", [x, df, lam], noncentral_chi2_upper(M(x), M(df), M(lam)))
for t, df in [("1e200", "0.5"), ("1e120", "2"), ("3", "0.02"), ("1e-9", "3"), ("2", "123456.7"), ("50", "0.1")]:
    tt, v = M(t), M(df)
    show("t_two_sided", [t, df], mp.betainc(v / 2, M(1) / 2, 0, v / (v + tt * tt), regularized=True))
for x, a, b in [("1e-9", "0.02", "300"), ("0.9999", "0.3", "0.4"), ("0.2", "40", "70.5"), ("0.001", "55", "3")]:
    show("beta_lower", [x, a, b], mp.betainc(M(a), M(b), 0, M(x), regularized=True))
    show("beta_upper", [x, a, b], mp.betainc(M(a), M(b), M(x), 1, regularized=True))
for x, a in [("1e-12", "0.02"), ("3", "0.02"), ("80", "100"), ("400", "100"), ("250000", "250100.5")]:
    show("gamma_lower", [x, a], mp.gammainc(M(a), 0, M(x), regularized=True))
    show("gamma_upper", [x, a], mp.gammainc(M(a), M(x), mp.inf, regularized=True))
for k, mean in [("0", "3"), ("4", "1.5"), ("40", "10"), ("2", "60")]:
    m = M(mean)
    low = mp.fsum(mp.exp(-m) * m**j / mp.factorial(j) for j in range(int(k) + 1))
    high = mp.fsum(mp.exp(-m) * m**j / mp.factorial(j) for j in range(int(k) + 1, int(k) + 400))
    show("poisson_lower", [k, mean], low)
    show("poisson_upper", [k, mean], high)
for k, n, p in [("0", "9", "0.01"), ("7", "20", "0.3"), ("55", "60", "0.25"), ("3", "500", "0.1")]:
    q = M(p)
    term = lambda j: mp.binomial(int(n), j) * q**j * (1 - q) ** (int(n) - j)
    show("binomial_lower", [k, n, p], mp.fsum(term(j) for j in range(int(k) + 1)))
    show("binomial_upper", [k, n, p], mp.fsum(term(j) for j in range(int(k) + 1, int(n) + 1)))
