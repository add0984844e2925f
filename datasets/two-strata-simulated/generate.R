# Unbalanced layout of whole plots, sub-whole plots and runs, invented data. Writes data.json and
# expected.json into the working directory. Needs lme4, pbkrtest, numDeriv and jsonlite.
suppressMessages({library(lme4); library(pbkrtest); library(numDeriv); library(jsonlite)})
RNGkind("Mersenne-Twister", "Inversion", "Rejection"); set.seed(41)
lay <- do.call(rbind, lapply(1:9, function(w) {
  subs <- c(2, 3, 2, 2, 3, 2, 2, 3, 2)[w]
  do.call(rbind, lapply(seq_len(subs), function(s) data.frame(wp = w, sp = s, run = seq_len(c(2, 3, 2)[1 + (w + s) %% 3]))))
}))
d <- lay[c("wp", "sp")]
d$level <- c(-1, 1, 0, -1, 1, 0, -1, 1, 0)[d$wp]
d$rpm <- c(-1, 1, 0)[1 + (d$wp + d$sp) %% 3]
d$fan <- round(runif(nrow(d), -1, 1), 2)
u <- rnorm(9, 0, 1); v <- rnorm(40, 0, 0.6)
d$y <- round(10 + 2 * d$level - d$rpm + 0.8 * d$fan + 0.7 * d$level * d$fan + u[d$wp] + v[d$wp * 4 + d$sp] + rnorm(nrow(d), 0, 0.5), 3)
d$w <- round(runif(nrow(d), 0.5, 3), 2)
# treatments for pure error: settings rounded so that some repeat
d$fan3 <- c(-1, 0, 1)[1 + (seq_len(nrow(d)) %% 3)]
d$y3 <- round(5 + d$level + 0.5 * d$rpm - 0.4 * d$fan3 + 1.5 * d$level^2 + u[d$wp] + rnorm(nrow(d), 0, 0.4), 3)
W <- factor(d$wp); S <- factor(paste(d$wp, d$sp)); d$W <- W; d$S <- S
ctl <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-13), check.conv.grad = "ignore", check.conv.hess = "ignore")

polish <- function(m) { # theta of the fitted model driven to the top by repeated searches
  dev <- update(m, devFunOnly = TRUE); th <- getME(m, "theta")
  if (length(th) > 1) for (i in 1:4) th <- optim(th, dev, method = "Nelder-Mead", control = list(reltol = 1e-16, maxit = 4000))$par
  if (length(th) == 1) th <- optimise(dev, c(max(0, th * 0.999), th * 1.001 + 1e-8), tol = 1e-12)$minimum
  th }
full_dev <- function(m) { dev <- update(m, devFunOnly = TRUE); n <- nobs(m); p <- ncol(getME(m, "X"))
  function(v) { k <- length(v); dev(v[-k]); e <- environment(dev)
    e$pp$ldL2() + e$pp$ldRX2() + (n - p) * log(2 * pi * v[k]^2) + (e$resp$wrss() + e$pp$sqrL(1)) / v[k]^2 - sum(log(e$resp$weights)) } }
satterthwaite <- function(m) { dev <- update(m, devFunOnly = TRUE); f <- full_dev(m); v <- c(getME(m, "theta"), sigma(m)); p <- ncol(getME(m, "X"))
  A <- 2 * solve(hessian(f, v, method.args = list(r = 6)))
  cv <- function(v) { k <- length(v); dev(v[-k]); v[k]^2 * tcrossprod(environment(dev)$pp$RXi()) }
  J <- jacobian(function(v) as.vector(cv(v)), v, method.args = list(r = 6)); C <- cv(v)
  sapply(1:p, function(i) { g <- J[(i - 1) * p + i, ]; 2 * C[i, i]^2 / drop(t(g) %*% A %*% g) }) }
table_of <- function(m, kr = TRUE) { b <- fixef(m); se <- sqrt(diag(as.matrix(vcov(m)))); p <- length(b); st <- satterthwaite(m)
  if (kr) { kse <- sqrt(diag(as.matrix(vcovAdj(m)))); kdf <- sapply(1:p, function(i) { L <- rep(0, p); L[i] <- 1; get_Lb_ddf(m, L) }) }
  setNames(lapply(1:p, function(i) c(list(estimate = unname(b[i]), se = unname(se[i]), satterthwaite_df = st[i]), if (kr) list(kr_se = unname(kse[i]), kr_df = unname(kdf[i])))), names(b)) }
components <- function(m) { v <- as.data.frame(VarCorr(m)); setNames(as.list(v$vcov), v$grp) }
out <- list()

# two strata
m <- lmer(y ~ level + rpm + fan + level:fan + I(level^2) + (1 | W) + (1 | S), d, control = ctl)
small <- lmer(y ~ rpm + fan + I(level^2) + (1 | W) + (1 | S), d, control = ctl)
k <- KRmodcomp(m, small)$test
out$two_strata <- list(reml_criterion = REMLcrit(m), variances = components(m), fixed = table_of(m),
  joint_level = list(ndf = k["Ftest", "ndf"], ddf = k["Ftest", "ddf"], f = k["Ftest", "stat"], scaling = k["Ftest", "F.scaling"], p = k["Ftest", "p.value"]),
  effects_whole = unname(ranef(m)$W[order(as.numeric(rownames(ranef(m)$W))), 1]))

# weights, one stratum (the adjustment of pbkrtest leaves weights out of account, so plain errors only)
mw <- lmer(y ~ level + rpm + fan + (1 | W), d, weights = w, control = ctl)
out$weighted <- list(reml_criterion = REMLcrit(mw), variances = components(mw), fixed = table_of(mw, kr = FALSE))

# profile limits of the variances, one stratum: every other value of the likelihood maximised over
mp <- lmer(y ~ level + rpm + fan + (1 | W), d, control = ctl)
f <- full_dev(mp); top <- f(c(polish(mp), sigma(mp))); n <- nobs(mp); p <- 4
top <- optim(c(getME(mp, "theta"), sigma(mp)), f, control = list(reltol = 1e-16, maxit = 5000))$value
drop_sigma <- function(s) optimise(function(t) f(c(t, s)), c(0, 40), tol = 1e-10)$objective - top - qchisq(0.95, 1)
drop_plot <- function(sw) optimise(function(ls) { s <- exp(ls); f(c(sw / s, s)) }, log(c(sigma(mp) / 4, sigma(mp) * 4)), tol = 1e-10)$objective - top - qchisq(0.95, 1)
vp <- components(mp)
out$profile <- list(variances = vp,
  residual = c(uniroot(drop_sigma, c(sigma(mp) / 2, sigma(mp)), tol = 1e-11)$root, uniroot(drop_sigma, c(sigma(mp), sigma(mp) * 2), tol = 1e-11)$root)^2,
  whole = c(uniroot(drop_plot, c(sqrt(vp$W) / 4, sqrt(vp$W)), tol = 1e-11)$root, uniroot(drop_plot, c(sqrt(vp$W), sqrt(vp$W) * 6), tol = 1e-11)$root)^2)

# adjustment at a variance of exactly zero
set.seed(7); repeat { y0 <- round(3 + d$level + d$fan + rnorm(nrow(d)), 3); m0 <- suppressMessages(lmer(y0 ~ level + rpm + fan + (1 | W), d, control = ctl)); if (getME(m0, "theta") == 0) break }
kdf <- sapply(1:4, function(i) { L <- rep(0, 4); L[i] <- 1; get_Lb_ddf(m0, L) })
out$boundary <- list(y = y0, kr_se = unname(sqrt(diag(as.matrix(vcovAdj(m0))))), kr_df = kdf, se = unname(sqrt(diag(as.matrix(vcov(m0))))))

# pure error: variances from a mean for every treatment, then generalised least squares of the model
d$treatment <- factor(paste(d$level, d$rpm, d$fan3))
mt <- lmer(y3 ~ 0 + treatment + (1 | W), d, control = ctl)
th <- polish(mt); devt <- update(mt, devFunOnly = TRUE); devt(th)
e <- environment(devt); nt <- nlevels(d$treatment); s2 <- (e$resp$wrss() + e$pp$sqrL(1)) / (nrow(d) - nt); sw <- th^2 * s2
Z <- model.matrix(~ 0 + W, d); V <- s2 * diag(nrow(d)) + sw * tcrossprod(Z); Vi <- solve(V)
X <- model.matrix(~ level + rpm + fan3, d); Phi <- solve(t(X) %*% Vi %*% X); b <- Phi %*% t(X) %*% Vi %*% d$y3
XT <- model.matrix(~ 0 + treatment, d); PT <- Vi - Vi %*% XT %*% solve(t(XT) %*% Vi %*% XT) %*% t(XT) %*% Vi
G <- list(diag(nrow(d)), tcrossprod(Z))
info <- outer(1:2, 1:2, Vectorize(function(i, j) sum(diag(PT %*% G[[i]] %*% PT %*% G[[j]])) / 2)); Wc <- solve(info)
P <- lapply(G, function(g) -t(X) %*% Vi %*% g %*% Vi %*% X)
Q <- function(i, j) t(X) %*% Vi %*% G[[i]] %*% Vi %*% G[[j]] %*% Vi %*% X
L <- matrix(0, 4, 4); for (i in 1:2) for (j in 1:2) L <- L + Wc[i, j] * (Q(i, j) - P[[i]] %*% Phi %*% P[[j]])
A <- Phi + 2 * Phi %*% L %*% Phi
df <- sapply(1:4, function(k) { g <- sapply(1:2, function(i) -(Phi %*% P[[i]] %*% Phi)[k, k]); 2 * Phi[k, k]^2 / drop(t(g) %*% Wc %*% g) })
out$pure_error <- list(treatments = nt, variances = list(W = sw, Residual = s2), estimate = drop(b), se = sqrt(diag(Phi)), kr_se = sqrt(diag(A)), kr_df = df)

write_json(list(columns = c("wp", "sp", "level", "rpm", "fan", "y", "w", "fan3", "y3"), rows = unname(as.matrix(d[c("wp", "sp", "level", "rpm", "fan", "y", "w", "fan3", "y3")]))), "data.json", digits = NA, matrix = "rowmajor")
write_json(list(id = "two-strata-simulated", title = "Unbalanced whole plots and sub-whole plots (invented data)",
  tool = paste0("R ", getRversion(), ", lme4 ", packageVersion("lme4"), ", pbkrtest ", packageVersion("pbkrtest"), ", numDeriv ", packageVersion("numDeriv")), expected = out),
  "expected.json", digits = I(15), auto_unbox = TRUE, pretty = TRUE)
